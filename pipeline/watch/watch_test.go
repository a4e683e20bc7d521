package watch

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ledgerline/pipeline"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
)

func TestSavedReleaseIsRendered(t *testing.T) {
	for name, save := range savings {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := newScene(t)
			s.watch(quick, pipeline.Options{})
			s.expect("rendered quay")
			s.expect("rendered lantern")
			for _, gain := range []string{"-12.0", "-3.0"} {
				s.must(save(s.path("release.toml"), []byte(fmt.Sprintf(releaseText, gain))))
				s.expect("rendered quay")
				s.expect("rendered lantern")
			}
			s.expectPeak("quay", -6.02-3)
			s.expectPeak("lantern", -12.04-3)
			if n := s.count("rendered "); n != 6 {
				t.Errorf("%d renders, want 6", n)
			}
		})
	}
}

// A release is rendered again when the file is saved that it inherits from.
func TestSavedHouseIsRendered(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	s.write("house/house.toml", fmt.Sprintf(releaseText, "-6.0"))
	s.write("release.toml", `inherit = "house/house.toml"`)
	s.watch(quick, pipeline.Options{})
	s.expect("rendered lantern")
	s.expect("rendered quay")
	s.write("house/house.toml", fmt.Sprintf(releaseText, "-12.0"))
	s.expect("rendered quay")
	s.expect("rendered lantern")
	s.expectPeak("quay", -6.02-12)
	s.write("house/house.toml", "# a comment\n"+fmt.Sprintf(releaseText, "-12.0"))
	s.expect("house.toml was saved: all is up to date")
	s.write("house/house.toml", "sources = 3\n")
	s.expect("house/house.toml:1: sources = 3 is a whole number")
	s.write("house/house.toml", fmt.Sprintf(releaseText, "-3.0"))
	s.expect("is valid again")
	s.expect("rendered quay")
}

func TestSavedMixIsRenderedAlone(t *testing.T) {
	for name, save := range savings {
		if strings.Contains(name, "times kept") {
			continue // it adds a byte, which makes a longer but equal mix
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := newScene(t)
			s.watch(quick, pipeline.Options{Jobs: 1})
			s.expect("rendered lantern")
			s.expect("rendered quay")
			for _, level := range []float64{0.125, 0.7} {
				s.must(save(s.path("mixes/quay.wav"), s.bytes(level)))
				s.expect("rendered quay")
			}
			s.expectPeak("quay", 20*math.Log10(0.7)-6)
			if n := s.count("rendered lantern"); n != 1 {
				t.Errorf("the other mix was rendered %d times, want once", n)
			}
			if n := s.count("FAILED"); n != 0 {
				t.Errorf("%d renders failed", n)
			}
		})
	}
}

// TestGrowingMix writes a mix with pauses longer than what is waited for a mix
// that is whole.
func TestGrowingMix(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	s.watch(quick, pipeline.Options{Jobs: 1})
	s.expect("rendered quay")
	text := s.bytes(0.125)
	f, err := os.Create(s.path("mixes/slow.wav"))
	s.must(err)
	defer f.Close()
	for at := 0; at < len(text); at += 3000 {
		_, err := f.Write(text[at:min(at+3000, len(text))])
		s.must(err)
		time.Sleep(2 * quick.settle)
	}
	s.expect("rendered slow")
	s.expectPeak("slow", 20*math.Log10(0.125)-6)
	if n := s.count("rendered slow"); n != 1 {
		t.Errorf("it was rendered %d times, want once", n)
	}
	if n := s.count("waiting for slow.wav"); n != 1 {
		t.Errorf("it was said %d times that it is waited for, want once", n)
	}
	if n := s.count("FAILED"); n != 0 {
		t.Errorf("%d renders failed", n)
	}
}

func TestMixThatIsNeverWhole(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	p := quick
	p.giveUp = 200 * time.Millisecond
	s.watch(p, pipeline.Options{})
	s.expect("rendered quay")
	s.must(os.WriteFile(s.path("mixes/quay.wav"), s.bytes(0.9)[:5000], 0o666))
	s.expect("FAILED quay")
	s.expectPeak("quay", -6.02-6) // the old entry stays
	s.mix("quay", 0.9)
	s.expect("rendered quay")
	s.expectPeak("quay", 20*math.Log10(0.9)-6)
}

func TestMixesComeAndGo(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	s.watch(quick, pipeline.Options{})
	s.expect("rendered quay")
	s.mix("breakwater", 0.1)
	s.expect("rendered breakwater")
	s.must(os.Remove(s.path("mixes/breakwater.wav")))
	s.expect("breakwater.wav is gone")
	l, err := ledger.Read(s.path("masters/ledger.json"))
	s.must(err)
	if len(l.Tracks) != 2 {
		t.Errorf("%d tracks in the ledger, want 2", len(l.Tracks))
	}
	// The whole folder is replaced by another one.
	s.must(os.Rename(s.path("mixes"), s.path("old")))
	s.mix("harbour", 0.2)
	s.expect("rendered harbour")
	s.mix("harbour", 0.3)
	s.expect("rendered harbour")
	s.expectPeak("harbour", 20*math.Log10(0.3)-6)
}

// A mix that the release file names is missed while it is gone. That it is back is no save of anything.
func TestAMixIsBack(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	s.write("release.toml", strings.Replace(fmt.Sprintf(releaseText, "-6.0"), `"mixes/*.wav"`,
		`"mixes/quay.wav", "mixes/lantern.wav"`, 1))
	s.watch(quick, pipeline.Options{})
	s.expect("rendered quay")
	s.expect("rendered lantern")
	s.must(os.Rename(s.path("mixes/quay.wav"), s.path("quay.wav")))
	s.expect(`there is no file "mixes/quay.wav"`)
	s.must(os.Rename(s.path("quay.wav"), s.path("mixes/quay.wav")))
	s.expect("release.toml is valid again")
	s.expect("quay.wav is back: all is up to date (2)")
	if n := s.count("saved"); n > 0 {
		t.Errorf("%d events say that something was saved", n)
	}
}

// Of a mix that is gone the release file can say no more than that it does not know its name. What has
// happened is said before.
func TestAMixThatTheReleaseFileNamesIsGone(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	plain := fmt.Sprintf(releaseText, "-6.0")
	s.write("release.toml", "order = [\"quay\", \"lantern\"]\n"+plain+"[track.\"quay\"]\ngain.gain_db = -3.0\n")
	s.watch(quick, pipeline.Options{})
	s.expect("rendered quay")
	s.expect("rendered lantern")
	s.must(os.Rename(s.path("mixes/quay.wav"), s.path("quay.wav")))
	s.expect("quay.wav is gone, but release.toml still names it:\n" + s.path("release.toml") +
		":1: order: no track is named \"quay\"")
	s.write("release.toml", plain+"[output]\n") // another mistake, and the mix is not named
	s.expect("quay.wav is gone\n" + s.path("release.toml") + ":")
	s.write("release.toml", plain)
	s.expect("release.toml changed, quay.wav is gone: all is up to date (1)")
	if n := s.count("gone"); n != 3 {
		t.Errorf("it was said %d times that a mix is gone, want 3", n)
	}
}

// What is left over is told of again where it is another list, and not after every save.
func TestWhatIsLeftOverIsToldOfOnce(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	s.mix("ferry", 0.3)
	s.watch(quick, pipeline.Options{})
	s.expect("rendered ferry")
	s.expectPeak("ferry", 20*math.Log10(0.3)-6)
	s.must(os.Rename(s.path("mixes/quay.wav"), s.path("quay.wav")))
	s.expect("left over from earlier renders")
	for _, db := range []float64{-5, -4} {
		s.write("release.toml", fmt.Sprintf(releaseText, fmt.Sprintf("%.1f", db)))
		s.expect("rendered lantern")
		s.expectPeak("lantern", 20*math.Log10(0.25)+db)
	}
	if n := s.count("left over"); n != 1 {
		t.Errorf("what is left over was told of %d times, want once", n)
	}
	// As many files, as long: another list.
	s.must(os.Rename(s.path("quay.wav"), s.path("mixes/quay.wav")))
	s.must(os.Rename(s.path("mixes/ferry.wav"), s.path("ferry.wav")))
	s.expect("left over from earlier renders")
	if n := s.count("left over"); n != 2 {
		t.Errorf("another list was told of %d times, want once", n-1)
	}
}

// Where only a variant is watched, what is made of it is all that ends: its mixes are done then, and are not
// taken for changed again and again.
func TestAVariantIsRenderedOnce(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	text := fmt.Sprintf(releaseText, "-6.0") + "[variant.loud]\ngain.gain_db = -3.0\n"
	s.write("release.toml", text)
	s.watch(quick, pipeline.Options{Variants: []string{"loud"}})
	s.expect("rendered quay (loud)")
	s.expect("rendered lantern (loud)")
	s.write("release.toml", "# a comment\n"+text)
	s.expect("release.toml was saved: all is up to date (2)")
	s.mix("quay", 0.9)
	s.expect("rendered quay (loud)")
	s.write("release.toml", text)
	s.expect("release.toml was saved: all is up to date (2)")
	if n := s.count("wav changed"); n != 0 {
		t.Errorf("%d events say that something changed beside what is rendered", n)
	}
}

func TestTouchedMixIsNotRendered(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	s.watch(quick, pipeline.Options{})
	s.expect("rendered quay")
	s.expect("rendered lantern")
	s.must(os.Chtimes(s.path("mixes/quay.wav"), time.Now(), time.Now()))
	s.expect("quay.wav changed: all is up to date")
	s.write("release.toml", "# a comment\n"+fmt.Sprintf(releaseText, "-6.0"))
	s.expect("release.toml was saved: all is up to date")
}

func TestBrokenRelease(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	s.watch(quick, pipeline.Options{})
	s.expect("rendered quay")
	s.write("release.toml", fmt.Sprintf(releaseText, `"loud"`))
	s.expect("release.toml:6: ")
	s.mix("quay", 0.9)
	time.Sleep(3 * quick.look) // nothing is to happen
	s.expectPeak("quay", -6.02-6)
	if n := s.count("release.toml:6: "); n != 1 {
		t.Errorf("the mistake was reported %d times, want once", n)
	}
	s.must(os.Rename(s.path("release.toml"), s.path("away.toml")))
	s.expect("release.toml is gone; waiting for it")
	s.write("release.toml", fmt.Sprintf(releaseText, "-1.0"))
	s.expect("is valid again")
	s.expect("rendered quay")
	s.expectPeak("quay", 20*math.Log10(0.9)-1)
}

func TestReleaseBrokenFromTheStart(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	s.must(os.RemoveAll(s.path("mixes")))
	s.watch(quick, pipeline.Options{})
	s.expect("release.toml:1: ")
	s.mix("quay", 0.5)
	s.expect("rendered quay")
}

func TestNoReleaseFile(t *testing.T) {
	err := Release(context.Background(), filepath.Join(t.TempDir(), "release.toml"), pipeline.Options{},
		func(Event) {})
	if !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("the error is %v", err)
	}
}

func TestUnknownTrack(t *testing.T) {
	s := newScene(t)
	err := Release(context.Background(), s.path("release.toml"), pipeline.Options{Tracks: []string{"quai"}},
		func(Event) {})
	if err == nil || !strings.Contains(err.Error(), `"quai"`) {
		t.Errorf("the error is %v", err)
	}
}

func TestChangeDuringARender(t *testing.T) {
	cases := map[string]func(*scene){
		"release.toml changed during the render": func(s *scene) {
			s.write("release.toml", fmt.Sprintf(releaseText, "-9.0"))
		},
		"lantern.wav changed during the render": func(s *scene) { s.mix("lantern", 0.6) },
	}
	for want, change := range cases {
		t.Run(want, func(t *testing.T) {
			t.Parallel()
			s := newScene(t)
			h := newHurdle()
			s.watch(quick, pipeline.Options{Progress: h.hear, Jobs: 1})
			t.Cleanup(h.letGo) // before the watch is ended
			<-h.reached
			change(s)
			s.expect(want)
			h.letGo()
			s.expect("rendered lantern")
			s.expect("rendered quay")
			s.stop()
			r, err := release.Load(s.path("release.toml"))
			s.must(err)
			out, err := pipeline.RenderRelease(context.Background(), r, pipeline.Options{})
			s.must(err)
			for _, x := range out.Results {
				if x.State != pipeline.Kept {
					t.Errorf("%s was not up to date: %s", x.Track, x.Why)
				}
			}
		})
	}
}

// TestNewMixDuringARender: what does not make a render stale does not stop it.
func TestNewMixDuringARender(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	h := newHurdle()
	s.watch(quick, pipeline.Options{Progress: h.hear, Jobs: 1})
	t.Cleanup(h.letGo) // before the watch is ended
	<-h.reached
	s.mix("breakwater", 0.1)
	time.Sleep(3 * quick.look) // nothing is to happen
	h.letGo()
	s.expect("rendered breakwater")
	if n := s.count("during the render"); n != 0 {
		t.Error("the render was stopped")
	}
}

func TestFolderHeldByAnother(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	r, err := release.Load(s.path("release.toml"))
	s.must(err)
	h := newHurdle()
	other := make(chan error)
	go func() {
		_, err := pipeline.RenderRelease(context.Background(), r, pipeline.Options{Progress: h.hear, Tool: "other"})
		other <- err
	}()
	<-h.reached
	s.watch(quick, pipeline.Options{Tool: "other"})
	s.expect("is being rendered into by")
	h.letGo()
	s.must(<-other)
	s.expect("all is up to date")
}

// TestWhatIsInTheWayIsReportedOnce: what keeps the whole run from being done is
// tried again until it is gone.
func TestWhatIsInTheWayIsReportedOnce(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	s.write("masters", "a file in the folder's place")
	s.watch(quick, pipeline.Options{})
	s.expect("masters")
	time.Sleep(3 * quick.look)
	if n := s.count("masters"); n != 1 {
		t.Errorf("it was reported %d times, want once", n)
	}
	s.must(os.Remove(s.path("masters")))
	s.expect("rendered quay")
}

func TestOdditiesAreToldOnce(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	odd := strings.Replace(fmt.Sprintf(releaseText, "-6.0"), "float32", "pcm24", 1)
	s.write("release.toml", odd)
	s.watch(quick, pipeline.Options{})
	s.expect("note: ")
	s.expect("rendered quay")
	s.write("release.toml", odd+"# a comment")
	s.expect("all is up to date")
	if n := s.count("note: "); n != 1 {
		t.Errorf("it was reported %d times, want once", n)
	}
}

// One save may be seen as several, so the same line twice in a row says nothing new.
func TestTheSameIsNotSaidTwiceInARow(t *testing.T) {
	var told []string
	s := speaker{tell: func(e Event) { told = append(told, e.Text) }}
	s.sayOnce("release.toml was saved: all is up to date (3)")
	s.sayOnce("release.toml was saved: all is up to date (3)")
	s.say(false, "rendered quay")
	s.sayOnce("release.toml was saved: all is up to date (3)")
	want := "release.toml was saved: all is up to date (3)|rendered quay|release.toml was saved: all is " +
		"up to date (3)"
	if got := strings.Join(told, "|"); got != want {
		t.Errorf("told %q, want %q", got, want)
	}
}
