package main

import (
	"fmt"
	"io"
	"os"
	"sync"
	"time"

	"github.com/charmbracelet/x/ansi"
	"github.com/vbauerster/cupwriter"
	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"

	"ledgerline/pipeline"
)

// progress tells how a render goes: bars on a terminal, lines elsewhere.
func (s *streams) progress(release *pipeline.Release) pipeline.Progress {
	if f, columns, ok := terminal(s.err); ok {
		b := newBars(f, columns)
		b.title = release.Title
		return b
	}
	return &lines{out: s.err}
}

// endLine says how a render ended; why it failed is said at the end of the run.
// It is empty for what was kept or interrupted.
func endLine(r pipeline.Result) string {
	switch {
	case r.State == pipeline.Kept, r.State == pipeline.Interrupted:
		return ""
	case r.Why != "":
		return fmt.Sprintf("%s %s: %s\n", r.State, r.Label(), r.Why)
	}
	return fmt.Sprintf("%s %s\n", r.State, r.Label())
}

// lines is the progress that a pipe, a file or a dumb terminal gets.
type lines struct {
	mu  sync.Mutex
	out io.Writer
}

var _ pipeline.Progress = &lines{}

func (*lines) Begin(int) {}

func (*lines) TrackBegin(*pipeline.Render, int64) {}

func (*lines) TrackAdvance(*pipeline.Render, int64) {}

func (*lines) TrackAgain(*pipeline.Render, int64) {}

func (l *lines) TrackEnd(_ *pipeline.Render, r pipeline.Result) {
	l.mu.Lock()
	defer l.mu.Unlock()
	io.WriteString(l.out, endLine(r))
}

func (*lines) End() {}

// bars is the progress that a terminal gets: a bar for the release and one for
// each track at work. Nothing is drawn before the first track begins. What is
// written to it while bars are drawn appears above them.
type bars struct {
	out   *os.File
	title string // of the bar for the release
	name  int    // columns for names
	quiet bool   // say nothing of how renders end

	mu      sync.Mutex
	drawn   *mpb.Progress
	refresh chan any // draws, once the last drawing is done
	stop    chan struct{}
	renders int
	release *mpb.Bar
	running map[*pipeline.Render]*bar
}

// bar is the bar of one track.
type bar struct {
	*mpb.Bar
	frames, done int64
	share        int64 // of the release's bar that the track has filled; its end fills the rest
}

// wholeTrack is a track's share of the release's bar.
const wholeTrack = 1000

var (
	_ pipeline.Progress = &bars{}
	_ io.Writer         = &bars{}
)

// newBars draws on a terminal of so many columns.
func newBars(out *os.File, columns int) *bars {
	return &bars{out: out, title: "release", name: max(min(columns-58, 32), 8), running: map[*pipeline.Render]*bar{}}
}

func (b *bars) Begin(renders int) { b.renders = renders }

func (b *bars) TrackBegin(r *pipeline.Render, frames int64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.drawn == nil {
		b.draw()
	}
	b.running[r] = &bar{Bar: b.add(r.Label(), frames, 0), frames: max(frames, 1)}
}

// draw begins to draw, with the release's bar.
func (b *bars) draw() {
	b.refresh, b.stop = make(chan any), make(chan struct{})
	screen := cupwriter.New(margin{b.out}, false)
	screen.SetTermFd(int(b.out.Fd()))
	b.drawn = mpb.New(mpb.WithConsoleWriter(screen), mpb.WithWidth(30), mpb.WithManualRefresh(b.refresh))
	b.release = b.add(b.title, int64(b.renders)*wholeTrack, 1)
	go tick(b.refresh, b.stop)
}

// margin goes back to the margin before it writes: what the terminal echoes of
// the keyboard may have moved the cursor.
type margin struct{ *os.File }

func (m margin) Write(text []byte) (int, error) {
	n, err := m.File.Write(append([]byte{'\r'}, text...))
	return max(n-1, 0), err
}

// tick draws ten times a second.
func tick(refresh chan<- any, stop <-chan struct{}) {
	t := time.NewTicker(100 * time.Millisecond)
	defer t.Stop()
	for {
		select {
		case <-stop:
			return
		case now := <-t.C:
			select {
			case <-stop:
				return
			case refresh <- now:
			}
		}
	}
}

// add draws one more bar; of a lower priority, higher up.
func (b *bars) add(name string, total int64, priority int) *mpb.Bar {
	name = ansi.Truncate(name, b.name, "...")
	style := mpb.BarStyle().Lbound("").Filler("|").Tip("|").Padding(".").Rbound("")
	return b.drawn.New(total, style,
		mpb.BarPriority(priority), mpb.BarRemoveOnComplete(),
		mpb.PrependDecorators(decor.Name(name, decor.WC{W: b.name + 2, C: decor.DindentRight})),
		mpb.AppendDecorators(decor.Percentage(decor.WC{W: 6}), decor.AverageETA(decor.ET_STYLE_MMSS, decor.WC{W: 8}), decor.Name(" left")))
}

func (b *bars) TrackAdvance(r *pipeline.Render, frames int64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	t := b.running[r]
	if t == nil {
		return
	}
	t.done += frames
	t.IncrInt64(frames)
	// The last bit is left to the end: the release's bar goes when it is full, and the track
	// may have to be rendered again. It never goes back.
	share := max(min(wholeTrack*t.done/t.frames, wholeTrack-1), t.share)
	b.release.IncrInt64(share - t.share)
	t.share = share
}

// TrackAgain puts another bar in the place of the track's, which is full.
func (b *bars) TrackAgain(r *pipeline.Render, frames int64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	t := b.running[r]
	if t == nil {
		return
	}
	t.Abort(true)
	t.Bar, t.done = b.add("again "+r.Label(), frames, 0), 0
}

func (b *bars) TrackEnd(r *pipeline.Render, result pipeline.Result) {
	b.mu.Lock()
	share := int64(0)
	if t := b.running[r]; t != nil {
		share = t.share
		t.Abort(true)
		delete(b.running, r)
	}
	if b.drawn != nil {
		b.release.IncrInt64(wholeTrack - share)
	}
	b.mu.Unlock()
	if !b.quiet {
		io.WriteString(b, endLine(result))
	}
}

func (b *bars) End() {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.drawn == nil {
		return
	}
	for _, t := range b.running {
		t.Abort(true)
	}
	b.release.Abort(true)
	close(b.stop)
	b.refresh <- time.Now() // what was written last is only shown by drawing
	b.drawn.Wait()
	b.drawn = nil
	clear(b.running)
}

func (b *bars) Write(text []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.drawn != nil {
		return b.drawn.Write(text)
	}
	return b.out.Write(text)
}
