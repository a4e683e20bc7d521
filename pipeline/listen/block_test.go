package listen_test

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"io"
	"math"
	"net/http"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/audiofile/mixtest"
	"ledgerline/stages"
	"ledgerline/stages/meter"
	"ledgerline/stages/stagetest/long"
)

const frames = 16384 // of a block

// get is the body of an answer.
func (s *scene) get(path string) []byte {
	s.t.Helper()
	r, err := http.Get(s.url + path)
	if err != nil {
		s.t.Fatal(err)
	}
	defer r.Body.Close()
	body, err := io.ReadAll(r.Body)
	if err != nil || r.StatusCode != 200 {
		s.t.Fatalf("%s: %s %v %s", path, r.Status, err, body)
	}
	return body
}

type view struct {
	Frames  int64
	Rate    int `json:"rate_hz"`
	Sources []struct {
		Name    string
		File    string
		SHA256  string
		GainDB  float64 `json:"gain_db"`
		Matched float64 `json:"matched_lufs"`
	}
	Spread float64 `json:"spread_lu"`
	Peak   float64 `json:"peak_dbfs"`
	Notes  []string
}

func (s *scene) view(track int) (v view) {
	s.t.Helper()
	if err := json.Unmarshal(s.get("track/1/"+strconv.Itoa(track)), &v); err != nil {
		s.t.Fatal(err)
	}
	return v
}

// heard is all that is played of a track: of each source its channels.
func (s *scene) heard(track int, v view) []stages.Block {
	s.t.Helper()
	all := make([]stages.Block, len(v.Sources))
	for k := range all {
		all[k] = stages.NewBlock(2, 0)
	}
	for n := int64(0); n*frames < v.Frames; n++ {
		r := bytes.NewReader(s.get("block/1/" + strconv.Itoa(track) + "/" + strconv.FormatInt(n, 10)))
		x := make([]float32, frames*2*len(v.Sources))
		if err := binary.Read(r, binary.LittleEndian, x); err != nil || r.Len() > 0 {
			s.t.Fatalf("block %d: %v, %d bytes more", n, err, r.Len())
		}
		for k := range all {
			for c := range 2 {
				for _, f := range x[(2*k+c)*frames:][:frames] {
					all[k][c] = append(all[k][c], float64(f))
				}
			}
		}
	}
	return all
}

func readAll(t *testing.T, path string) stages.Block {
	t.Helper()
	r, err := audiofile.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	b := stages.NewBlock(r.Info().Channels, int(r.Info().Frames))
	if n, err := r.Read(b); err != nil || int64(n) != r.Info().Frames {
		t.Fatal(n, err)
	}
	return b
}

// What is played is the file at its gain, to the sample, and all of it within 0.01 LU; the files stay as they
// are.
func TestWhatIsPlayedIsTheFileAtItsGain(t *testing.T) {
	s := serve(t)
	v := s.view(0)
	if len(v.Sources) != 4 || v.Sources[0].Name != "mix" || v.Sources[1].Name != "own chain" ||
		v.Frames != seconds*rate {
		t.Fatalf("%+v", v)
	}
	least, most := math.Inf(1), math.Inf(-1)
	zero := 0
	for k, x := range s.heard(0, v) {
		file := readAll(t, filepath.Join(s.folder, filepath.FromSlash(v.Sources[k].File)))
		gain := math.Pow(10, v.Sources[k].GainDB/20)
		if v.Sources[k].GainDB == 0 {
			zero++
		}
		for c := range file {
			for i, y := range file[c] {
				// float32 of a product in float64; the gain is known to a few units of its last place.
				if want := y * gain; math.Abs(x[c][i]-want) > math.Abs(want)*0x1p-23 {
					t.Fatalf("%s, channel %d, frame %d: %v, want %v", v.Sources[k].Name, c, i, x[c][i], want)
				}
			}
			for i, y := range x[c][len(file[c]):] {
				if y != 0 {
					t.Fatalf("%d frames after the end: %v", i, y)
				}
			}
		}
		m := meter.New(meter.Options{Rate: rate, Weights: meter.Weights(2, 0)})
		m.Write(stages.Block{x[0][:v.Frames], x[1][:v.Frames]})
		l := m.Reading().Integrated
		if math.Abs(l-v.Sources[k].Matched) > 1e-9 {
			t.Errorf("%s: %v LUFS, said %v", v.Sources[k].Name, l, v.Sources[k].Matched)
		}
		least, most = min(least, l), max(most, l)
	}
	if most-least > 0.01 || math.Abs(most-least-v.Spread) > 1e-4 {
		t.Errorf("%v LU apart, said %v", most-least, v.Spread)
	}
	if zero != 1 {
		t.Errorf("%d sources are played at 0 dB, want the quietest alone", zero)
	}
}

// Sines have known loudnesses: one of 997 Hz at full scale in both channels reads 0 LUFS less 0.01 (ITU-R
// BS.1770-5: one channel reads -3.01). So sines are turned down by the ratio of their amplitudes; also where
// the ledger's guess is wrong, for the file was replaced.
func TestMatchingSines(t *testing.T) {
	s := serve(t)
	sine := func(name string, amplitude float64) {
		info := audiofile.Info{Rate: rate, Channels: 2, Frames: seconds * rate, Encoding: audiofile.Float32}
		err := mixtest.Write(filepath.Join(s.folder, filepath.FromSlash(name)), info, func(_ int, n int64) float64 {
			return amplitude * math.Sin(2*math.Pi*997*float64(n)/rate)
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	sine("mixes/01 quay.wav", 0.5)
	sine("masters/01 quay.wav", 0.25)
	sine("masters/deep/01 quay.wav", 1)
	sine("masters/mild/01 quay.wav", 0.05)
	v := s.view(0)
	for k, amplitude := range []float64{0.5, 0.25, 1, 0.05} {
		if want := 20 * math.Log10(0.05/amplitude); math.Abs(v.Sources[k].GainDB-want) > 0.002 {
			t.Errorf("%s: %v dB, want %v", v.Sources[k].Name, v.Sources[k].GainDB, want)
		}
		if want := 20*math.Log10(0.05) - 0.01; math.Abs(v.Sources[k].Matched-want) > 0.02 {
			t.Errorf("%s: %v LUFS, want %v", v.Sources[k].Name, v.Sources[k].Matched, want)
		}
	}
	if v.Spread > 0.01 || math.Abs(v.Peak-20*math.Log10(0.05)) > 0.01 {
		t.Errorf("%v LU apart, peak %v", v.Spread, v.Peak)
	}
	if len(v.Notes) != 4 {
		t.Errorf("four files are not what the ledger records, told: %q", v.Notes)
	}
}

// Blocks in any order are the same: a seek reads what playing on reads.
func TestBlocksInAnyOrder(t *testing.T) {
	s := serve(t)
	var forth [][]byte
	for n := range blocks() {
		forth = append(forth, s.get("block/1/1/"+strconv.Itoa(n)))
	}
	for n := blocks() - 1; n >= 0; n-- {
		if !bytes.Equal(s.get("block/1/1/"+strconv.Itoa(n)), forth[n]) {
			t.Errorf("block %d is another one", n)
		}
	}
}

// A mix in FLAC is played bit for bit from any place, and one at another rate than the masters is converted.
func TestOtherFormsAreHeard(t *testing.T) {
	short := long.Or[int64](1, 8) // seconds of the master at another rate
	s := serve(t)
	was := readAll(t, filepath.Join(s.folder, "mixes", "01 quay.wav"))
	quarter := func(path string, f audiofile.Info, container audiofile.Container) {
		w, err := audiofile.CreateWith(path, f, audiofile.Beside{Container: container})
		if err != nil {
			t.Fatal(err)
		}
		defer w.Abort()
		b := stages.NewBlock(2, int(f.Frames))
		for c := range b {
			for i := range b[c] {
				b[c][i] = was[c][i] / 4
			}
		}
		if err := w.Write(b); err != nil {
			t.Fatal(err)
		}
		if err := w.Commit(); err != nil {
			t.Fatal(err)
		}
	}
	quarter(filepath.Join(s.folder, "mixes", "01 quay.wav"), audiofile.Info{Rate: rate, Channels: 2,
		Frames: seconds * rate, Encoding: audiofile.PCM24}, audiofile.FLAC)
	quarter(filepath.Join(s.folder, "masters", "deep", "01 quay.wav"), audiofile.Info{Rate: 48000, Channels: 2,
		Frames: short * 48000, Encoding: audiofile.PCM24}, audiofile.WAV)
	want := readAll(t, filepath.Join(s.folder, "mixes", "01 quay.wav"))
	v := s.view(0)
	if v.Rate != rate || v.Frames != seconds*rate {
		t.Fatalf("%+v", v)
	}
	x := s.heard(0, v)
	gain := math.Pow(10, v.Sources[0].GainDB/20)
	for i, y := range want[0] {
		if math.Abs(x[0][0][i]-y*gain) > math.Abs(y)*0x1p-23 {
			t.Fatalf("frame %d of the mix: %v, want %v", i, x[0][0][i], y*gain)
		}
	}
	// So many at 48 kHz are so many at 44.1 kHz, then silence.
	end := short * rate
	if tail := x[2][0][end:]; slices.ContainsFunc(tail, func(y float64) bool { return y != 0 }) ||
		x[2][0][end-1] == 0 {
		t.Errorf("what was at 48 kHz does not end after %d s", short)
	}
	if v.Spread > 0.01 || !slices.ContainsFunc(v.Notes, func(n string) bool {
		return strings.Contains(n, "converted from 48000 Hz")
	}) {
		t.Errorf("%v LU apart; %q", v.Spread, v.Notes)
	}
}
