//go:build !amd64 || noasm

package kernel

func meet8(t *Meeting, m *Meetings, n int, x []float64) { meetEach(t, m, n, x) }
