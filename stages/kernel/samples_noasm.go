//go:build !amd64 || noasm

package kernel

func within(x []float64, limit float64) int { return withinGeneric(x, limit) }
