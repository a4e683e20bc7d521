package audiofile

import (
	"testing"

	"ledgerline/stages"
)

func BenchmarkDecode(b *testing.B) {
	const n, channels = 4096, 2
	dst := stages.NewBlock(channels, n)
	for _, k := range []struct {
		name string
		size int
		f    decoder
	}{{"8", 1, decode8}, {"16", 2, decode16}, {"24", 3, decode24}, {"32", 4, decode32}, {"f32", 4, decodeFloat32}, {"f64", 8, decodeFloat64}} {
		b.Run(k.name, func(b *testing.B) {
			src := make([]byte, n*channels*k.size)
			for i := range src {
				src[i] = byte(i * 7)
			}
			b.SetBytes(int64(len(src)))
			for b.Loop() {
				k.f(dst, src)
			}
		})
	}
}

func BenchmarkEncode(b *testing.B) {
	const n, channels = 4096, 2
	src := stages.NewBlock(channels, n)
	for c := range src {
		for i := range src[c] {
			src[c][i] = float64(i-2048) / 2049
		}
	}
	for _, k := range []struct {
		name string
		size int
		f    encoder
	}{{"16", 2, encode16}, {"24", 3, encode24}, {"32", 4, encode32}, {"f32", 4, encodeFloat32}, {"f64", 8, encodeFloat64}} {
		b.Run(k.name, func(b *testing.B) {
			dst := make([]byte, n*channels*k.size)
			b.SetBytes(int64(len(dst)))
			for b.Loop() {
				k.f(dst, src)
			}
		})
	}
}
