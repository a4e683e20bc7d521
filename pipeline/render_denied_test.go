//go:build linux

package pipeline

import (
	"errors"
	"io"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"syscall"
	"testing"

	"ledgerline/pipeline/fresh"
)

// asNobody renders the desk's release in a process of a user who owns the
// desk and has no special rights, and is what that process says.
func (d *desk) asNobody() string {
	d.t.Helper()
	program := filepath.Join(d.t.(*testing.T).TempDir(), "pipeline.test")
	d.must(copyFile(program, os.Args[0]))
	cmd := exec.Command(program)
	cmd.Env = append(os.Environ(), "LEDGERLINE_TEST_RENDER="+d.path("release.toml"))
	if os.Getuid() == 0 {
		const nobody = 65534
		d.must(filepath.WalkDir(d.folder, func(path string, _ os.DirEntry, err error) error {
			if err != nil {
				return err
			}
			return os.Lchown(path, nobody, nobody)
		}))
		d.must(os.Chmod(filepath.Dir(d.folder), 0o755))
		d.must(os.Chmod(filepath.Dir(program), 0o755))
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: nobody, Gid: nobody}}
	}
	said, err := cmd.CombinedOutput()
	if err != nil {
		d.t.Fatalf("%v: %s", err, said)
	}
	return strings.TrimPrefix(string(said), "ready\n")
}

func copyFile(to, from string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE, 0o755)
	if err != nil {
		return err
	}
	if _, err := io.Copy(out, in); err != nil {
		return err
	}
	return out.Close()
}

func TestRenderWithoutPermission(t *testing.T) {
	for _, c := range []struct {
		name string
		deny string // no longer to be read or written
		mode os.FileMode
		want []string // of what is said
	}{
		{"a mix that may not be read", "mixes/02 breakwater.wav", 0o000, []string{
			"01 quay rendered <nil>\n",
			"02 breakwater failed 02 breakwater: open ", "mixes/02 breakwater.wav: permission denied\n",
			"03 lantern rendered <nil>\n"}},
		{"a variant's folder that may not be written", "masters/plain", 0o555, []string{
			"01 quay rendered <nil>\n01 quay failed 01 quay (plain): ", "permission denied\n",
			"03 lantern rendered <nil>\n03 lantern failed 03 lantern (plain): "}},
		{"an output folder that may not be written", "masters", 0o555, []string{
			"writing to the output folder: open ", "masters/" + lockName + ": permission denied"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := calmDesk(t)
			d.write("release.toml", quickChain+"\n[variant.plain]\nskip = [\"clip\"]\n")
			d.render(Options{})
			old := d.tree("masters")
			d.edit("gain_db = 4.0", "gain_db = 5.5")
			d.must(os.Chmod(d.path(c.deny), c.mode))
			t.Cleanup(func() { _ = os.Chmod(d.path(c.deny), 0o777) })
			said := d.asNobody()
			for _, want := range c.want {
				if !strings.Contains(said, want) {
					t.Errorf("said:\n%swant in it: %s", said, want)
				}
			}
			now := d.tree("masters")
			for name, text := range old {
				// What failed has its old output, what did not has another.
				failed := strings.Contains(said, "lock") || strings.HasPrefix("mixes/"+filepath.Base(name), c.deny) ||
					strings.HasPrefix(name, c.deny)
				if same := now[name] == text; same != failed {
					t.Errorf("%s: unchanged is %v, failed is %v", name, same, failed)
				}
			}
		})
	}
}

// TestRenderOnAFullDisk renders into a file system that is too small for one of
// its tracks. It does so in a process with mounts of its own.
func TestRenderOnAFullDisk(t *testing.T) {
	if os.Getenv("LEDGERLINE_TEST_MOUNTS") == "" {
		inOwnMounts(t)
		return
	}
	d := calmDesk(t)
	d.must(os.MkdirAll(d.path("masters"), 0o777))
	if err := syscall.Mount("none", d.path("masters"), "tmpfs", 0, "size=640k"); err != nil {
		t.Skipf("no small file system to be had: %v", err)
	}
	t.Cleanup(func() { _ = syscall.Unmount(d.path("masters"), 0) })
	before := d.render(Options{Jobs: 1})
	old := d.tree("masters")
	d.mix("mixes/02 breakwater.wav", stereo(100000), tone(2))
	d.flip("mixes/03 lantern.wav")
	out, err := d.try(t.Context(), Options{Jobs: 1})
	d.must(err)
	if got := states(out); got != "01 quay kept, 02 breakwater failed, 03 lantern rendered" {
		t.Fatalf("states: %s", got)
	}
	if text := out.Results[1].Err.Error(); !strings.Contains(text, "no space left on device") {
		t.Errorf("error %q", text)
	}
	d.keptOld(old, "02 breakwater")
	if was, is := before.Ledger.Tracks[1], out.Ledger.Tracks[1]; was.Source != is.Source ||
		was.Output != is.Output {
		t.Errorf("its entry changed: %+v", is)
	}
}

// A folder that may only be read is enough for a run that finds all up to date. The file system itself
// refuses to be written to, so that no user is allowed more.
func TestRenderIntoAFolderThatMayOnlyBeRead(t *testing.T) {
	if os.Getenv("LEDGERLINE_TEST_MOUNTS") == "" {
		inOwnMounts(t)
		return
	}
	d := calmDesk(t)
	chain := strings.Replace(quickChain, "page     = false", "match_loudness = true\nremoved = true", 1)
	text := `[variant.plain]
skip = ["clip"]

[[delivery]]
name     = "disc"
encoding = "pcm16"
sums     = "sha256"
`
	d.write("release.toml", chain+text)
	d.must(os.MkdirAll(d.path("masters"), 0o777))
	if err := syscall.Mount("none", d.path("masters"), "tmpfs", 0, ""); err != nil {
		t.Skipf("no file system to be had: %v", err)
	}
	t.Cleanup(func() { _ = syscall.Unmount(d.path("masters"), 0) })
	remount := func(flags uintptr) {
		t.Helper()
		d.must(syscall.Mount("none", d.path("masters"), "tmpfs", syscall.MS_REMOUNT|flags, ""))
	}
	before := d.render(Options{})
	old := d.tree("masters")
	refused := func(what string, o Options) {
		t.Helper()
		remount(syscall.MS_RDONLY)
		if out, err := d.try(t.Context(), o); !errors.Is(err, syscall.EROFS) || out != nil {
			t.Errorf("%s: %v, %v; want that the folder cannot be written to", what, out, err)
		}
		remount(0)
	}

	remount(syscall.MS_RDONLY)
	var ended int
	out, err := d.try(t.Context(), Options{Progress: func(e Event) {
		if e.Step == Ended {
			ended++
		}
	}})
	d.must(err)
	if len(out.Results) != len(before.Results) || ended != len(out.Results) {
		t.Errorf("%d results and %d events of their ends, want %d", len(out.Results), ended, len(before.Results))
	}
	for _, r := range out.Results {
		if r.State != Kept {
			t.Errorf("%s is %s, want it kept", r.Label(), r.State)
		}
	}
	if !reflect.DeepEqual(out.Ledger, before.Ledger) {
		t.Error("the ledger is another than that of the run before")
	}
	if !slices.ContainsFunc(out.Notes, func(n string) bool {
		return strings.HasSuffix(n, "masters\" cannot be written to; nothing has to be written")
	}) {
		t.Errorf("notes %q do not say that the folder cannot be written to", out.Notes)
	}
	remount(0)
	if !maps.Equal(d.tree("masters"), old) {
		t.Error("files have changed")
	}

	refused("everything anew", Options{Force: true})
	refused("a part, which leaves a journal", Options{Part: fresh.Part{K: 1, N: 1}})
	for _, name := range []string{
		"01 quay.wav", "removed/01 quay.wav", "plain/matched/01 quay.wav", "disc/SHA256SUMS",
		"ledger.html", "ledger.along.jsonl", "ledger.json",
	} {
		path := d.path("masters/" + name)
		d.must(os.Rename(path, path+".away"))
		refused("without "+name, Options{})
		d.must(os.Rename(path+".away", path))
	}
	d.write("release.toml", strings.Replace(chain, "title", "title = \"another\" #", 1)+text)
	refused("another title", Options{})
	d.write("release.toml", chain+text)
	// Whoever holds the lock may be at work.
	d.must(os.WriteFile(d.path("masters/"+lockName), nil, 0o644))
	refused("a lock that is there", Options{})
}

// inOwnMounts runs the test in a process with mounts of its own.
func inOwnMounts(t *testing.T) {
	cmd := exec.Command(os.Args[0], "-test.run=^"+t.Name()+"$", "-test.v")
	cmd.Env = append(os.Environ(), "LEDGERLINE_TEST_MOUNTS=own")
	cmd.SysProcAttr = &syscall.SysProcAttr{Cloneflags: syscall.CLONE_NEWNS}
	if os.Getuid() != 0 {
		cmd.SysProcAttr.Cloneflags |= syscall.CLONE_NEWUSER
		cmd.SysProcAttr.UidMappings = []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getuid(), Size: 1}}
	}
	said, err := cmd.CombinedOutput()
	switch {
	case errors.Is(err, syscall.EPERM) || strings.Contains(string(said), "--- SKIP"):
		t.Skipf("this user may not mount: %v\n%s", err, said)
	case err != nil:
		t.Errorf("%v\n%s", err, said)
	}
}
