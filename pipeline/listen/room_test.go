package listen_test

import (
	"context"
	"math"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"ledgerline/pipeline"
	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/audiofile/mixtest"
	"ledgerline/pipeline/browsertest"
	"ledgerline/pipeline/coder/codertest"
	"ledgerline/pipeline/listen"
	"ledgerline/pipeline/release"
	"ledgerline/stages/stagetest/long"
)

const rate = 44100

// seconds are a mix's.
var seconds = long.Or[int64](2, 12)

// blocks is how many blocks a mix has.
func blocks() int { return int(seconds*rate+frames-1) / frames }

// The chains have nothing that must be told from the programme by ear: they clip noise at different levels.
const text = `title = "Heard"
sources = ["mixes/*.wav"]
[output]
encoding = "float32"
page = false
[audibility]
measure = false
[[stage]]
kind = "gain"
name = "drive"
gain_db = 6.0
[[stage]]
kind = "hard_clip"
name = "clip"
ceiling_dbfs = -1.0
[variant.deep]
drive.gain_db = 9.0
[variant.mild]
drive.gain_db = 3.0
`

// rendered is a release that was rendered once for all tests, which copy it.
var rendered = sync.OnceValues(func() (string, error) {
	if folder := os.Getenv("LISTEN_RELEASE"); folder != "" {
		return folder, nil
	}
	folder, err := os.MkdirTemp("", "listen")
	if err != nil {
		return "", err
	}
	r := rand.New(rand.NewPCG(1, 2))
	info := audiofile.Info{Rate: rate, Channels: 2, Frames: seconds * rate, Encoding: audiofile.Float32}
	for _, name := range []string{"01 quay", "02 pier"} {
		err = mixtest.Write(filepath.Join(folder, "mixes", name+".wav"), info, func(c int, n int64) float64 {
			return 0.2 * r.NormFloat64() * (1 + 0.5*math.Sin(float64(n)/rate))
		})
		if err != nil {
			return "", err
		}
	}
	if err := os.WriteFile(filepath.Join(folder, "release.toml"), []byte(text), 0o666); err != nil {
		return "", err
	}
	rel, err := release.Load(filepath.Join(folder, "release.toml"))
	if err != nil {
		return "", err
	}
	_, err = pipeline.RenderRelease(context.Background(), rel, pipeline.Options{Tool: "ledgerline test"})
	return folder, err
})

// A scene is a release of its own that is served.
type scene struct {
	t       *testing.T
	folder  string
	options listen.Options
	server  *listen.Server
	url     string // with the token
	host    string
}

// serve serves a copy of the release. Each time the clock is asked, a second has passed.
func serve(t *testing.T, change ...func(*listen.Options)) *scene {
	t.Helper()
	from, err := rendered()
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	if err := os.CopyFS(folder, os.DirFS(from)); err != nil {
		t.Fatal(err)
	}
	return serveFolder(t, folder, change...)
}

// serveFolder serves the release in a folder.
func serveFolder(t *testing.T, folder string, change ...func(*listen.Options)) *scene {
	t.Helper()
	rel, err := release.Load(filepath.Join(folder, "release.toml"))
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)
	o := listen.Options{Tool: "ledgerline test", Now: func() time.Time { at = at.Add(time.Second); return at }}
	for _, c := range change {
		c(&o)
	}
	room, err := listen.Open(rel, o)
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s := &scene{
		t: t, folder: folder, options: o, server: listen.NewServer(room, l.Addr()), host: l.Addr().String(),
	}
	s.url = s.server.Address()
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() {
		defer close(done)
		if err := s.server.Serve(ctx, l); err != context.Canceled && err != http.ErrServerClosed {
			t.Error(err)
		}
	}()
	t.Cleanup(func() { cancel(); <-done; s.server.Close() })
	return s
}

func TestMain(m *testing.M) {
	if codertest.Asked() {
		codertest.Main()
		return
	}
	code := m.Run()
	browsertest.Stop()
	if folder, err := rendered(); err == nil && os.Getenv("LISTEN_RELEASE") == "" {
		os.RemoveAll(folder)
	}
	os.Exit(code)
}

func replaced(text, old, new string) string { return strings.ReplaceAll(text, old, new) }

func equal(a, b []int) bool { return slices.Equal(a, b) }
