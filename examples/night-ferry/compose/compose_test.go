package main

import (
	"bytes"
	"io"
	"math"
	"os"
	"path/filepath"
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/stages"
	"ledgerline/stages/stagetest/long"
)

// The mixes that are kept beside the program are those that it composes.
func TestComposesTheKeptMixes(t *testing.T) {
	folder := t.TempDir()
	for i, p := range release {
		if i != 1 && !long.Wanted() {
			continue
		}
		if err := composePiece(folder, i); err != nil {
			t.Fatal(err)
		}
		composed, err := os.ReadFile(filepath.Join(folder, p.file))
		if err != nil {
			t.Fatal(err)
		}
		kept, err := os.ReadFile(filepath.Join("../mixes", p.file))
		if err != nil {
			t.Fatal(err)
		}
		if at := difference(composed, kept); at >= 0 {
			t.Errorf("%s: composed %d bytes, kept %d, different from byte %d on", p.file, len(composed), len(kept), at)
		}
	}
}

// difference is the first place where two files differ, or -1.
func difference(a, b []byte) int {
	if bytes.Equal(a, b) {
		return -1
	}
	n := min(len(a), len(b))
	for i := range n {
		if a[i] != b[i] {
			return i
		}
	}
	return n
}

// What the example promises of its mixes: short files of a common format,
// peaks near full scale, and a loudness that differs from track to track.
func TestMixesAreFitToMaster(t *testing.T) {
	bytes := int64(0)
	rms := make(map[string]float64)
	for _, p := range release {
		path := filepath.Join("../mixes", p.file)
		file, err := os.Stat(path)
		if err != nil {
			t.Fatal(err)
		}
		bytes += file.Size()
		info, audio := read(t, path)
		if info.Rate != 44100 || info.Channels != 2 || info.Encoding != audiofile.PCM24 {
			t.Errorf("%s: %d Hz, %d channels, %s; want 44100 Hz, 2 channels, pcm24", p.file, info.Rate, info.Channels,
				info.Encoding)
		}
		seconds := float64(info.Frames) / float64(info.Rate)
		if seconds < 5 || seconds > 8 {
			t.Errorf("%s: %.3f s; want 5 to 8 s", p.file, seconds)
		}
		peak, level, tail := levels(audio)
		if peak < -2 || peak > -0.5 {
			t.Errorf("%s: peak %.2f dBFS; want -2 to -0.5 dBFS", p.file, peak)
		}
		if tail > -100 {
			t.Errorf("%s: peak of the last millisecond %.1f dBFS; want no more than -100 dBFS", p.file, tail)
		}
		rms[p.file] = level
		t.Logf("%-18s %.3f s, peak %6.2f dBFS, rms %6.2f dBFS, crest %5.2f dB", p.file, seconds, peak, level,
			peak-level)
	}
	if bytes >= 5e6 {
		t.Errorf("the mixes have %d bytes; want less than 5 MB", bytes)
	}
	middle, loud, quiet := rms["01 quay.wav"], rms["02 breakwater.wav"], rms["03 lantern.wav"]
	if loud-middle < 2 || middle-quiet < 2 {
		t.Errorf("rms of breakwater %.1f, quay %.1f, lantern %.1f dBFS; want at least 2 dB between them, "+
			"in this order", loud, middle, quiet)
	}
}

func read(t *testing.T, path string) (audiofile.Info, stages.Block) {
	t.Helper()
	r, err := audiofile.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	info := r.Info()
	audio := stages.NewBlock(info.Channels, int(info.Frames))
	if n, err := r.Read(audio); n != audio.Frames() || err != nil && err != io.EOF {
		t.Fatalf("%s: read %d of %d frames: %v", path, n, audio.Frames(), err)
	}
	return info, audio
}

// levels are the peak, the RMS and the peak of the last millisecond, dBFS.
func levels(audio stages.Block) (peak, rms, tail float64) {
	sum := 0.0
	for c := range audio {
		for i, x := range audio[c] {
			sum += x * x
			peak = max(peak, math.Abs(x))
			if i >= len(audio[c])-rate/1000 {
				tail = max(tail, math.Abs(x))
			}
		}
	}
	rms = math.Sqrt(sum / float64(len(audio)*audio.Frames()))
	return 20 * math.Log10(peak), 20 * math.Log10(rms), 20 * math.Log10(tail)
}
