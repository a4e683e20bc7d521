// Command gen writes the assembly of package kernel:
//
//	cd stages/kernel/gen && go run . -out ../kernel_amd64.s -stubs ../stubs_amd64.go -pkg kernel
//
// It is a module of its own, so that nothing but the generator needs avo.
package main

import . "github.com/mmcloughlin/avo/build"

func main() {
	ConstraintExpr("amd64,!noasm")
	for _, v := range []vectors{avx512, avx2} {
		v.filter()
		v.zip()
		v.evens()
		v.addScaled()
		v.addScaledRows()
		v.addScaled16()
		v.combine()
		v.meet()
		v.addCorner()
		v.climb()
		v.maxAbs()
		v.peaks()
		v.beyond()
		v.addBeyond()
		v.nonZero()
		v.weigh()
		v.scan()
		v.edge()
		v.mayPass()
		v.above()
		v.within()
		v.taken()
		v.clamp()
		v.removed("removed", false)
		v.removed("removedWary", true)
		v.quantise()
		v.triangular()
	}
	meet8()
	rows()
	hillFind()
	descend()
	decode24()
	encode24()
	Generate()
}
