package kernel

import "testing"

// BenchmarkKernels runs every kernel in every form, on what a stage or a meter gives it
// at once. The bytes are those it reads or writes, whichever are more.
func BenchmarkKernels(b *testing.B) {
	const n = 1024
	m := newMaker(1)
	x, y, z := m.values(2*n), m.values(2*n), make([]float64, 2*n)
	mask, under, turns := make([]uint64, n/64), make([]uint64, n/64), make([]uint64, n/64)
	filter := func(taps, at int) func() {
		f := NewFilter(m.values(taps))
		return func() {
			for i := 0; i < n; i += at {
				f.Apply(z[i:i+at], x[i:])
			}
		}
	}
	var rows [12][12]float64
	var terms [20][8]float64
	weighing := NewWeighing([2]Section{{0.8, 0.1, -0.2, 0.7, -0.4}, {0.99, 0.01, -1e-5, -0.3, 0.05}})
	var states States
	var crossing Crossing
	meetings := Meetings{At: [8]int{10, 20, 30, 40, 50, 60, 70, 80}}
	meeting := NewMeeting(func(float64) [12][12]float64 { return rows })
	var planes [3][4][16]float64
	eighths := &Eighths{}
	hills := Hills{C: [HillTerms][4]float64{{1, 1, 1, 1}, {}, {-1, -1, -1, -1}}, Height: [4]float64{1, 1, 1, 1}}
	hills.Level = [4]float64{0.9, 0.8, 0.7, 0.6}
	var found Hills
	var tables [2]HillTable
	for i := range tables {
		for k := range tables[i] { // a parabola
			tables[i][k] = [HillTerms]float64{1: 1, 2: -1}
		}
	}
	rows16 := m.values(16 * 232)
	w := (*[4]float64)(m.values(4))
	codes, q := m.coded(n), make([]float64, n)
	for _, k := range []struct {
		name   string
		values int
		run    func()
	}{
		{"Filter of 208 taps, 64 at once", n, filter(208, 64)},
		{"Filter of 136 taps, 64 at once", n, filter(136, 64)},
		{"Filter of 24 taps, 128 at once", n, filter(24, 128)},
		{"Filter of 16 taps, 256 at once", n, filter(16, 256)},
		{"Filter of 360 taps, 32 at once", n, filter(360, 32)},
		{"Filter of 48 taps, 32 at once", n, filter(48, 32)},
		{"Zip", 2 * n, func() { Zip(z, x[:n], y[:n]) }},
		{"Evens", 2 * n, func() { Evens(z[:n], x) }},
		{"AddScaled", 224, func() { AddScaled(z[:224], x[:224], 0.5) }},
		{"AddScaledRows", 224, func() { AddScaledRows(z[:224], x, 224, w) }},
		{"AddScaled16", 232, func() { AddScaled16(z[:232], rows16, (*[16]float64)(y)) }},
		{"Combine", 12, func() { Combine((*[12]float64)(z), &rows, (*[12]float64)(x)) }},
		{"Meeting", 12, func() { meeting.Find(&crossing, (*[12]float64)(x), 0.5) }},
		{"Meetings", 8 * 12, func() { meeting.FindAll(&meetings, 8, x) }},
		{"AddCorner", 16, func() {
			AddCorner((*[16]float64)(z), &planes[0], &planes[1], &planes[2], (*[12]float64)(y))
		}},
		{"Climb", 20, func() { NewClimb(&terms, (*[20]float64)(x)) }},
		{"Hills, found", 4 * 22, func() { found.Find(&tables, x, &[4]int{40, 51, 62, 73}) }},
		{"Hills, gone down", 4 * 12, func() { hills.Descend() }},
		{"MaxAbs", n, func() { MaxAbs(x[:n]) }},
		{"Peaks", n, func() { Peaks(x, 1, n, 3, 0.5, mask) }},
		{"Beyond", n, func() { Beyond(x, 2, n, 0.9, mask, under, turns) }},
		{"AddBeyond", n, func() { AddBeyond(z[:n], x[:n], 0.9) }},
		{"NonZero", n, func() { NonZero(mask, x[:n]) }},
		{"Weighing", 2 * n, func() { weighing.Sum(x[:n], y[:n], &states) }},
		{"Scan", n, func() { Scan(x[:2+n], z[:n/Cell], z[n:]) }},
		{"Edge", Cell, func() { Edge((*[EdgeTaps - 1 + Cell]float64)(x), (*[EdgeTaps]float64)(y)) }},
		{"Above", 32, func() { Above((*[32]float64)(x), 0.5) }},
		{"Within", n, func() { Within(x[:n], 1) }},
		{"Taken", 32, func() { Taken(x[:32], y[:32], 0.9) }},
		{"Clamp, none over", n, func() { Clamp(x[:n], 2, (*[8]float64)(z)) }},
		{"Clamp, most over", n, func() { copy(z, x[:n]); Clamp(z[:n], 0.1, (*[8]float64)(q)) }},
		{"Removed", n, func() { Removed(x[:n], y, 0.5, 9, 0, (*[16]float64)(z)) }},
		{"Quantise", n, func() { Quantise(q, y[:n], 1<<23, -1<<23, 1<<23) }},
		{"Triangular", n, func() { Triangular(z[:n], 1) }},
		{"Decode24", 2 * n, func() { Decode24(z[:n], z[n:], codes) }},
		{"Encode24", 2 * n, func() { Encode24(codes, x[:n], x[n:]) }},
		{"MayPass", 19, func() { eighths.MayPass(x, 0.5) }},
	} {
		b.Run(k.name, func(b *testing.B) {
			inEachForm(func(form string) {
				b.Run(form, func(b *testing.B) {
					b.SetBytes(int64(8 * k.values))
					b.ReportAllocs()
					for b.Loop() {
						k.run()
					}
				})
			})
		})
	}
}
