// Package coder takes the files of deliveries through the coders that a release declares, and reads what
// comes back: a lossy coder changes every sample, and peaks may grow in it.
//
//   - Bench.Run takes one file through one coder: it runs the two programs (process*.go, program.go) in a
//     scratch folder, finds out where the delivery lies in what comes back (align.go), and reads it (read.go,
//     place.go);
//   - Search seeks the ceiling at which what comes back keeps a limit (search.go).
//
// The programs are run as they are declared, without a shell, and they are not shut in: they may do what the
// user may.
package coder

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/release"
	"ledgerline/pipeline/whole"
)

// A Bench is where the coders of a release are run. It is safe for use by several goroutines at once.
type Bench struct {
	folder  string // of the release file, by which programs with a slash in their names are found
	scratch string // in which scratch folders are made

	mu       sync.Mutex
	programs map[string]*program
}

// NewBench finds programs from the folder of a release file, and makes scratch folders in another, which
// exists.
func NewBench(folder, scratch string) *Bench {
	return &Bench{folder: folder, scratch: scratch, programs: map[string]*program{}}
}

// Found is what came back of a delivery.
type Found struct {
	SHA256      string // of the delivery's file that went in
	Versions    []string
	DelayFrames int64 // of what came back, after the delivery
	RateHz      int

	SamplePeak    float64 // linear, 1 = full scale; 0: silence
	SampleFrame   int64   // where it is first, from the delivery's first frame on; -1: silence
	SampleChannel int     // from 0; -1: silence
	TruePeak      float64
	TrueFrame     float64 // as SampleFrame, between frames too
	TrueChannel   int
}

// Room for what programs write: the delivery's samples as float64, several times over, and some more.
const (
	roomTimes = 3
	roomMore  = 64 << 20
)

// Run takes a delivery's file through a coder. Its errors begin with the place of the coder in the release
// file.
func (b *Bench) Run(ctx context.Context, file string, c release.Coder) (Found, error) {
	return b.placed(ctx, file, c, nil)
}

// placed is Run, which hands what came back to keep, if that is not nil.
func (b *Bench) placed(ctx context.Context, file string, c release.Coder, keep func(back string,
	f *Found) error) (Found, error) {
	f, err := b.through(ctx, file, c, keep)
	if err != nil && ctx.Err() == nil {
		err = fmt.Errorf("%s: coder %q: %w", c.At, c.Name, err)
	}
	return f, err
}

func (b *Bench) through(ctx context.Context, file string, c release.Coder, keep func(back string,
	f *Found) error) (found Found, err error) {
	programs, err := b.both(ctx, c)
	if err != nil {
		return found, err
	}
	found.Versions = []string{programs[0].version, programs[1].version}
	info, err := infoOf(file)
	if err != nil {
		return found, err
	}
	scratch, err := whole.NewScratch(b.scratch)
	if err != nil {
		return found, fmt.Errorf("a scratch folder: %w", err)
	}
	defer scratch.Remove()
	at := func(name string) string { return filepath.Join(scratch.Path, name) }
	in, out, back := at("in"+extensionOf(file)), at("out"), at("back.wav")
	if found.SHA256, err = copyFile(ctx, in, file); err != nil {
		return found, err
	}
	run := process{
		dir: scratch.Path, limit: time.Duration(c.TimeLimitS * float64(time.Second)),
		most: roomMore + roomTimes*8*info.Frames*int64(info.Channels), spared: in,
		named: strings.NewReplacer(in, release.PlaceIn, back, release.PlaceBack, out, release.PlaceOut),
	}
	places := strings.NewReplacer(release.PlaceIn, in, release.PlaceOut, out, release.PlaceBack, back)
	if err := run.run(ctx, "encode", programs[0].path, replaced(c.Encode, places)); err != nil {
		return found, err
	}
	if !wrote(scratch.Path, "out") {
		return found, fmt.Errorf("encode: %q ended without an error, but wrote nothing at %s; want the "+
			"coded file there", c.Encode[0], release.PlaceOut)
	}
	if err := run.run(ctx, "decode", programs[1].path, replaced(c.Decode, places)); err != nil {
		return found, err
	}
	if !wrote(scratch.Path, "back.wav") {
		return found, fmt.Errorf("decode: %q ended without an error, but wrote nothing at %s; want the decoded "+
			"WAV file there", c.Decode[0], release.PlaceBack)
	}
	if err := found.read(ctx, file, back); err != nil {
		return found, fmt.Errorf("decode: what came back: %w%s", err, run.said)
	}
	if keep != nil {
		return found, keep(back, &found)
	}
	return found, nil
}

// replaced are the arguments after the program's name, with paths for placeholders.
func replaced(args []string, places *strings.Replacer) []string {
	all := slices.Clone(args[1:])
	for i := range all {
		all[i] = places.Replace(all[i])
	}
	return all
}

// wrote says whether a folder has something in it whose name begins so, and which is not an empty file.
func wrote(folder, name string) bool {
	list, err := os.ReadDir(folder)
	return err == nil && slices.ContainsFunc(list, func(e os.DirEntry) bool {
		info, err := e.Info()
		return err == nil && strings.HasPrefix(e.Name(), name) && (e.IsDir() || info.Size() > 0)
	})
}

// extensionOf is the extension of what a file holds: one that is not in its place yet may have another.
func extensionOf(file string) string {
	var head [4]byte
	if f, err := os.Open(file); err == nil {
		_, _ = io.ReadFull(f, head[:])
		f.Close()
	}
	if string(head[:]) == "fLaC" {
		return audiofile.FLAC.Extension()
	}
	return audiofile.Container("").Extension()
}

func infoOf(file string) (audiofile.Info, error) {
	f, err := audiofile.Open(file)
	if err != nil {
		return audiofile.Info{}, err
	}
	defer f.Close()
	return f.Info(), nil
}

// copyFile copies a file, and returns its SHA-256. Programs get a copy: what they do to it does no harm.
func copyFile(ctx context.Context, to, from string) (sha string, err error) {
	f, err := os.Open(from)
	if err != nil {
		return "", err
	}
	defer f.Close()
	w, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return "", err
	}
	defer w.Close()
	sum := sha256.New()
	if _, err := io.CopyBuffer(io.MultiWriter(w, sum), untilDone{ctx, f}, make([]byte, 1<<18)); err != nil {
		return "", err
	}
	return hex.EncodeToString(sum.Sum(nil)), w.Close()
}

// untilDone reads until its context is done.
type untilDone struct {
	ctx context.Context
	r   io.Reader
}

func (u untilDone) Read(p []byte) (int, error) {
	if err := u.ctx.Err(); err != nil {
		return 0, err
	}
	return u.r.Read(p)
}
