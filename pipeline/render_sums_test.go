package pipeline

import (
	"context"
	"os"
	"os/exec"
	"strings"
	"testing"

	"ledgerline/pipeline/ledger"
)

func sumsDesk(t testing.TB) *desk {
	d := ferryDesk(t)
	d.write("release.toml", quickChain+"[[delivery]]\nname = \"disc\"\nencoding = \"pcm16\"\nsums = \"sha256\"\n")
	return d
}

// sha256sum of GNU coreutils says whether sums are right, and whether it can read them.
func TestSumsAreWhatSha256sumChecks(t *testing.T) {
	if _, err := exec.LookPath("sha256sum"); err != nil {
		t.Skip("sha256sum is not there")
	}
	d := sumsDesk(t)
	d.mix(`mixes/04 back\slash.wav`, stereo(3000), tone(4))
	d.render(Options{})
	check := func() (string, error) {
		c := exec.Command("sha256sum", "--check", "--strict", ledger.SumsName)
		c.Dir = d.path("masters/disc")
		out, err := c.CombinedOutput()
		return string(out), err
	}
	if out, err := check(); err != nil || strings.Count(out, ": OK") != 4 {
		t.Fatalf("%v\n%s", err, out)
	}
	d.flip("masters/disc/02 breakwater.wav")
	if out, err := check(); err == nil || !strings.Contains(out, "02 breakwater.wav: FAILED") {
		t.Errorf("an altered file: %v\n%s", err, out)
	}
}

// Sums follow the files: they are written again where they are missing or say something else, and leave with the
// delivery. Where a foreign file is in their way it stays.
func TestSumsComeAndGo(t *testing.T) {
	d := sumsDesk(t)
	out := d.render(Options{})
	first := d.read("masters/disc/" + ledger.SumsName)
	if first != out.Ledger.Sums("disc") || strings.Count(first, "\n") != 3 {
		t.Fatalf("sums:\n%s", first)
	}
	d.edit("gain_db = 4.0", "gain_db = 3.0")
	out = d.render(Options{Tracks: []string{"01 quay"}})
	second := d.read("masters/disc/" + ledger.SumsName)
	if second == first || second != out.Ledger.Sums("disc") {
		t.Errorf("sums after one track was rendered:\n%s", second)
	}
	d.must(os.Remove(d.path("masters/disc/" + ledger.SumsName)))
	d.render(Options{Tracks: []string{"01 quay"}})
	if d.read("masters/disc/"+ledger.SumsName) != second {
		t.Error("sums that were missing are not what they were")
	}
	d.edit("sums = \"sha256\"\n", "")
	if left := d.render(Options{}).Left; left.Files != 1 {
		t.Errorf("left over: %v, want the file of sums", left)
	}
	d = sumsDesk(t)
	d.write("masters/disc/"+ledger.SumsName, "somebody else's")
	if _, err := d.try(context.Background(), Options{}); err == nil || !strings.Contains(err.Error(), "is in the way") {
		t.Errorf("a foreign file: %v", err)
	}
	if d.read("masters/disc/"+ledger.SumsName) != "somebody else's" {
		t.Error("a foreign file was replaced")
	}
}
