package pipeline

import (
	"crypto/sha256"
	"flag"
	"fmt"
	"ledgerline/pipeline/foldertest"
	"ledgerline/pipeline/fresh"
	"ledgerline/stages/stagetest/long"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the golden files anew")

const goldenRender = "testdata/golden/night-ferry.txt"

// The example, rendered with all that a release may write, has the bytes that it had when
// fresh.RenderVersion was raised last. Masters of an older version are rendered again; those of
// this one pass as current, so no byte may change without a new version.
func TestGoldenMasters(t *testing.T) {
	d := newDesk(t)
	d.must(foldertest.CopyExample(d.path("."), "../examples/night-ferry"))
	d.edit(`encoding = "pcm24"`, "encoding = \"pcm24\"\nremoved = true\nmatch_loudness = true")
	d.write("release.toml", d.read("release.toml")+"\n[variant.plain]\nclip.kind = \"hard_clip\"\n"+
		"skip = [\"hold\"]\n")
	d.edit("[output]", "[output]\npage = false") // no byte of a master depends on it, nor on what is heard
	d.write("release.toml", "audibility = { measure = false }\n"+d.read("release.toml"))
	// A quick run renders one track.
	quick := []string{"03 lantern"}
	tracks := quick
	if long.Wanted() || *update {
		tracks = nil
	}
	d.render(Options{Tracks: tracks})

	var b strings.Builder
	fmt.Fprintf(&b, "renderVersion %d\n", fresh.RenderVersion)
	tree := d.tree("masters")
	for _, name := range slices.Sorted(maps.Keys(tree)) {
		if strings.HasSuffix(name, ".wav") || strings.HasSuffix(name, ".flac") {
			fmt.Fprintf(&b, "%x %s\n", sha256.Sum256([]byte(tree[name])), name)
		}
	}
	got := b.String()
	want := 3 * (9 + 3)
	if tracks != nil {
		want = 9 + 3
	}
	if n := strings.Count(got, ".wav\n") + strings.Count(got, ".flac\n"); n != want {
		t.Fatalf("%d files, want master, removed and matched of each track in three variants, and "+
			"three deliveries", n)
	}
	if *update {
		d.must(os.MkdirAll("testdata/golden", 0o777))
		d.must(os.WriteFile(goldenRender, []byte(got), 0o666))
		return
	}
	text, err := os.ReadFile(goldenRender)
	d.must(err)
	recorded := string(text)
	if tracks != nil {
		recorded = ""
		for line := range strings.Lines(string(text)) {
			if strings.HasPrefix(line, "renderVersion ") || strings.Contains(line, quick[0]) {
				recorded += line
			}
		}
	}
	wantGolden(t, got, recorded)
}

// wantGolden compares the fresh.RenderVersion and hashes of a render with those on record.
func wantGolden(t *testing.T, got, want string) {
	t.Helper()
	const refresh = "go test ./pipeline -run Golden -update"
	gotVersion, gotFiles, _ := strings.Cut(got, "\n")
	wantVersion, wantFiles, _ := strings.Cut(want, "\n")
	switch {
	case gotFiles != wantFiles && gotVersion == wantVersion:
		t.Errorf("the example's files have other bytes at the same %s: masters rendered before would pass "+
			"as current.\n"+
			"If the change is meant, raise fresh.RenderVersion in fresh.go, then refresh %s:\n    %s\n"+
			"files:\n%swant:\n%s",
			gotVersion, goldenRender, refresh, gotFiles, wantFiles)
	case gotVersion != wantVersion:
		t.Errorf("this is %s, and %s is of %s: refresh it:\n    %s", gotVersion, goldenRender, wantVersion, refresh)
	}
}
