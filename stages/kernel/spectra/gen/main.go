// Command gen writes the assembly of package spectra:
//
//	cd stages/kernel/spectra/gen && go run . -out ../spectra_amd64.s -stubs ../stubs_amd64.go -pkg spectra
//
// It is a module of its own, so that nothing but the generator needs avo.
package main

import (
	"math"

	. "github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

func main() {
	ConstraintExpr("amd64,!noasm")
	first()
	strided()
	halves()
	unfold()
	fold()
	join()
	part()
	partTapered()
	squares()
	roots()
	raise()
	rise()
	sums()
	differ()
	exp()
	log()
	Generate()
}

// begin begins a function of vectors of four.
func begin(name, signature, doc string) {
	TEXT(name+"AVX2", NOSPLIT, "func("+signature+")")
	Pragma("noescape")
	Doc(doc)
}

func end() {
	VZEROUPPER()
	RET()
}

func pointer(param string) reg.GPVirtual { return Load(Param(param), GP64()).(reg.GPVirtual) }

// count is a parameter in vectors.
func count(param string) reg.GPVirtual {
	n := pointer(param)
	SHRQ(operand.Imm(2), n)
	return n
}

func loop(label string, n reg.GPVirtual, body func()) {
	Label(label)
	body()
	DECQ(n)
	JNZ(operand.LabelRef(label))
}

func load(m operand.Mem) reg.VecVirtual {
	r := YMM()
	VMOVUPD(m, r)
	return r
}

func at(base reg.Register) operand.Mem { return operand.Mem{Base: base} }

// on moves pointers on by a vector.
func on(p ...reg.GPVirtual) {
	for _, p := range p {
		ADDQ(operand.Imm(32), p)
	}
}

func add(a, b operand.Op) reg.VecVirtual {
	r := YMM()
	VADDPD(b, a, r)
	return r
}

// less is a - b.
func less(a, b operand.Op) reg.VecVirtual {
	r := YMM()
	VSUBPD(b, a, r)
	return r
}

func times(a, b operand.Op) reg.VecVirtual {
	r := YMM()
	VMULPD(b, a, r)
	return r
}

// four is one value four times in memory, as an operand. (As a number without a point it would be taken for
// an integer.)
func four(name string, value float64) operand.Mem { return fourBits(name, math.Float64bits(value)) }

func fourBits(name string, bits uint64) operand.Mem {
	m := GLOBL(name, RODATA|NOPTR)
	for i := range 4 {
		DATA(8*i, operand.U64(bits))
	}
	return m
}
