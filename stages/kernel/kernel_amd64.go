//go:build amd64 && !noasm

package kernel

import "golang.org/x/sys/cpu"

// What the processor has. Tests change them.
var (
	useAVX512 = cpu.X86.HasAVX512F && cpu.X86.HasAVX512DQ && cpu.X86.HasAVX512VL && useAVX2
	useAVX2   = cpu.X86.HasAVX2 && cpu.X86.HasFMA
)

func meet8(t *Meeting, m *Meetings, n int, x []float64) {
	if n == 1 || !useAVX512 {
		meetEach(t, m, n, x)
		return
	}
	for i := n; i < len(m.At); i++ { // lanes that are not asked for look where the first one does
		m.At[i], m.Level[i] = m.At[0], m.Level[0]
	}
	meet8AVX512(&t[0][0][0], &x[0], &m.At)
}
