//go:build !amd64 || noasm

package kernel

func weigh(x, y []float64, w *Weighing, s *States, e *[8]float64) { weighGeneric(x, y, w, s, e) }

func scan(x, peaks, bends []float64, s *[16]float64) { scanGeneric(x, peaks, bends, s) }

func edge(x *[EdgeTaps - 1 + Cell]float64, taps *[EdgeTaps]float64) float64 {
	return edgeGeneric(x, taps)
}

func mayPass(u *[19]float64, e *Eighths, limit float64) uint8 { return mayPassGeneric(u, e, limit) }

func above(x *[32]float64, limit float64) uint32 { return aboveGeneric(x, limit) }
