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
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
)

// progress shows how a render goes: bars on a terminal, lines elsewhere.
func (s *streams) progress(rel *release.Release) func(pipeline.Event) {
	if f, columns, ok := terminal(s.err); ok {
		b := newBars(f, columns)
		b.title = rel.Title
		return b.hear
	}
	return (&lines{out: s.err}).hear
}

// endLine says what was rendered, and why. It is empty for other results: failures are
// reported once, at the end of the run.
func endLine(r pipeline.Result) string {
	switch {
	case r.State != pipeline.Rendered:
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

func (l *lines) hear(e pipeline.Event) {
	if e.Step == pipeline.Ended {
		l.mu.Lock()
		defer l.mu.Unlock()
		io.WriteString(l.out, endLine(e.Result))
	}
}

// bars is the progress that a terminal gets: a bar for the release and one for
// each track at work. Nothing is drawn before the first track begins. What is
// written to it while bars are drawn appears above them.
type bars struct {
	out   *os.File
	title string // of the bar for the release
	name  int    // columns for names
	width int    // columns for what is filled
	quiet bool   // say nothing of how renders end

	mu      sync.Mutex
	drawn   *mpb.Progress
	refresh chan any // draws, once the last drawing is done
	stop    chan struct{}
	release *mpb.Bar
	began   time.Time // when the first track began
	work    work      // of the release
	running map[*release.Render]*bar
}

// bar is the bar of one track.
type bar struct {
	*mpb.Bar
	frames, done int64
	share        int64 // of the release's bar that the track has filled; its end fills the rest
}

// wholeTrack is a track's share of the release's bar.
const wholeTrack = 1000

// work is how much of a release there is to do and how much is done, in shares of
// a track. A track counts until it is found to be kept or to have failed.
type work struct {
	mu          sync.Mutex
	total, done int64
}

// begin counts the tracks that may need work.
func (w *work) begin(tracks int) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.total, w.done = int64(tracks)*wholeTrack, 0
}

// end counts a track as ended. It had filled part of its share.
func (w *work) end(state pipeline.State, share int64) {
	w.mu.Lock()
	defer w.mu.Unlock()
	switch state {
	case pipeline.Rendered:
		w.done += wholeTrack - share
	case pipeline.Interrupted: // it is left
	default:
		w.total -= wholeTrack
		w.done -= share
	}
}

// again counts a track that had filled part of its share as one more to do.
func (w *work) again(share int64) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.total += wholeTrack
	w.done += wholeTrack - share
}

// advance adds what a track has filled since.
func (w *work) advance(share int64) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.done += share
}

func (w *work) so() (done, total int64) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.done, w.total
}

// left is how long the rest takes if it goes on as it has for some time.
func (w *work) left(spent time.Duration) (time.Duration, bool) {
	done, total := w.so()
	return restOf(spent, done, total)
}

func restOf(spent time.Duration, done, total int64) (time.Duration, bool) {
	if done <= 0 || total < done {
		return 0, false
	}
	return time.Duration(float64(spent) * float64(total-done) / float64(done)), true
}

// timeLeft is the time left in minutes and seconds, "--:--" as long as there is no saying.
func timeLeft(spent time.Duration, done, total int64) string {
	d, ok := restOf(spent, done, total)
	if !ok {
		return "--:--"
	}
	seconds := int64(d.Round(time.Second) / time.Second)
	return fmt.Sprintf("%02d:%02d", seconds/60, seconds%60)
}

var _ io.Writer = &bars{}

// Columns that a bar's figures take, and the spaces between.
const figureColumns = len(" 100 %") + len("   59:59") + len(" left") + 2

// newBars draws on a terminal of so many columns. What is filled takes a quarter
// of them, and names get the rest.
func newBars(out *os.File, columns int) *bars {
	width := min(max(columns/4, 8), 30)
	name := min(max(columns-width-figureColumns-1, 8), 40)
	return &bars{out: out, title: "release", name: name, width: width, running: map[*release.Render]*bar{}}
}

// hear draws what is told.
func (b *bars) hear(e pipeline.Event) {
	switch e.Step {
	case pipeline.Deciding:
		b.work.begin(int(e.Count))
	case pipeline.Begun:
		b.begin(e.Render, e.Count)
	case pipeline.Advanced:
		b.advance(e.Render, e.Count)
	case pipeline.BegunAgain:
		b.again(e.Render, e.Count)
	case pipeline.Ended:
		b.end(e.Render, e.Result)
	case pipeline.Done:
		b.done()
	}
}

func (b *bars) begin(r *release.Render, frames int64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.drawn == nil {
		b.draw()
	}
	b.fill()
	b.running[r] = &bar{
		Bar: b.addTrack(ledger.LabelWithin(r.Track, r.Version(), b.name), frames), frames: max(frames, 1),
	}
}

// draw begins to draw, with the release's bar.
func (b *bars) draw() {
	b.refresh, b.stop = make(chan any), make(chan struct{})
	screen := cupwriter.New(fromLineStart{b.out}, false)
	screen.SetTermFd(int(b.out.Fd()))
	b.drawn = mpb.New(mpb.WithConsoleWriter(screen), mpb.WithWidth(b.width), mpb.WithManualRefresh(b.refresh))
	b.began = time.Now()
	b.release = b.addRelease()
	go tick(b.refresh, b.stop)
}

// fromLineStart goes back to the start of the line before it writes, because keys that the
// terminal echoes may have moved the cursor.
type fromLineStart struct{ *os.File }

func (f fromLineStart) Write(text []byte) (int, error) {
	n, err := f.File.Write(append([]byte{'\r'}, text...))
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

// addTrack draws a track's bar, above that of the release.
func (b *bars) addTrack(name string, frames int64) *mpb.Bar {
	began := time.Now()
	left := func(s decor.Statistics) string { return timeLeft(time.Since(began), s.Current, s.Total) }
	return b.add(name, frames, 0, decor.Percentage(decor.WC{W: 6}), decor.Any(left, decor.WC{W: 8}))
}

// addRelease draws the release's bar. Its figures are those of the work to do, which is
// known better with each track that is found to be up to date.
func (b *bars) addRelease() *mpb.Bar {
	share := func(decor.Statistics) string {
		done, total := b.work.so()
		return fmt.Sprintf("%d %%", 100*done/max(total, 1))
	}
	left := func(decor.Statistics) string {
		done, total := b.work.so()
		return timeLeft(time.Since(b.began), done, total)
	}
	return b.add(ansi.Truncate(b.title, b.name, "..."), 0, 1, decor.Any(share, decor.WC{W: 6}),
		decor.Any(left, decor.WC{W: 8}))
}

// add draws one more bar; a lower priority is higher up.
func (b *bars) add(name string, total int64, priority int, figures ...decor.Decorator) *mpb.Bar {
	style := mpb.BarStyle().Lbound("").Filler("|").Tip("|").Padding(".").Rbound("")
	return b.drawn.New(total, style,
		mpb.BarPriority(priority), mpb.BarRemoveOnComplete(),
		mpb.PrependDecorators(decor.Name(name, decor.WC{W: b.name + 2, C: decor.DindentRight})),
		mpb.AppendDecorators(append(figures, decor.Name(" left"))...))
}

// fill draws how far the release is.
func (b *bars) fill() {
	if b.drawn != nil {
		done, total := b.work.so()
		b.release.SetTotal(total, false)
		b.release.SetCurrent(done)
	}
}

func (b *bars) advance(r *release.Render, frames int64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	t := b.running[r]
	if t == nil {
		return
	}
	t.done += frames
	t.IncrInt64(frames)
	share := min(wholeTrack*t.done/t.frames, wholeTrack)
	b.work.advance(share - t.share)
	t.share = share
	b.fill()
}

// again replaces the track's bar, which is full, by a new one.
func (b *bars) again(r *release.Render, frames int64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	t := b.running[r]
	if t == nil {
		return
	}
	t.Abort(true)
	t.Bar, t.done = b.addTrack(onceMore(r, b.name), frames), 0
	b.work.again(t.share)
	t.share = 0
	b.fill()
}

// onceMore is the name of a track that is rendered again.
func onceMore(r *release.Render, width int) string {
	const again = ", once more"
	if width < 2*len(again) {
		return ledger.LabelWithin(r.Track, r.Version(), width)
	}
	return ledger.LabelWithin(r.Track, r.Version(), width-len(again)) + again
}

func (b *bars) end(r *release.Render, result pipeline.Result) {
	b.mu.Lock()
	share := int64(0)
	if t := b.running[r]; t != nil {
		share = t.share
		t.Abort(true)
		delete(b.running, r)
	}
	b.work.end(result.State, share)
	b.fill()
	b.mu.Unlock()
	if !b.quiet {
		io.WriteString(b, endLine(result))
	}
}

func (b *bars) done() {
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
	b.refresh <- time.Now() // the last text appears only when the bars are drawn
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
