package fresh

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"iter"
	"os"
	"sync"
	"time"

	"golang.org/x/sync/singleflight"

	"ledgerline/pipeline/whole"
)

// A Sight is a file's hash and the stamp the file had when it was taken.
type Sight struct {
	stamp
	SHA256 string `json:"sha256"` // of the whole file, in hexadecimal
}

// A memory is a Sight and when it was made.
type memory struct {
	Sight
	at   time.Time // before its content was looked at
	ours bool      // this run wrote the file
}

// Seen knows the hashes of files, those of earlier runs too, so that what
// nobody touched need not be read again. It is safe for use by several
// goroutines at once.
type Seen struct {
	folder string // of the state file
	flight singleflight.Group

	mu         sync.Mutex
	remembered map[string]memory // by absolute path
	saved      map[string]Sight  // as the state file has it

	// hashes of what the release has written, by absolute path; as the state file has it
	Made, savedMade map[string][]string
}

// Hash is the SHA-256 of a file and the stamp the file had meanwhile. The file
// is read only where its stamp tells of a change, or could hide one.
func (s *Seen) Hash(ctx context.Context, path string) (Sight, error) {
	info, err := os.Stat(path)
	if err != nil {
		return Sight{}, err
	}
	if x, ok := s.recall(path, stampOf(info)); ok {
		return x, nil
	}
	x, err, _ := s.flight.Do(path, func() (any, error) { return s.Read(ctx, path) })
	if err != nil {
		return Sight{}, err
	}
	return x.(Sight), nil
}

// recall is the sight of a file that has that stamp, if it is known.
func (s *Seen) recall(path string, has stamp) (Sight, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	n, ok := s.remembered[path]
	if !ok || n.stamp != has || !n.ours && !n.settled(n.at) {
		return Sight{}, false
	}
	return n.Sight, true
}

// Read takes a file's hash.
func (s *Seen) Read(ctx context.Context, path string) (Sight, error) {
	f, err := whole.Open(path)
	if err != nil {
		return Sight{}, err
	}
	defer f.Close()
	begun := time.Now()
	info, err := f.Stat()
	if err != nil {
		return Sight{}, err
	}
	h := sha256.New()
	if _, err := io.CopyBuffer(h, untilDone{ctx, f}, make([]byte, 1<<18)); err != nil {
		return Sight{}, err
	}
	x := Sight{stampOf(info), hex.EncodeToString(h.Sum(nil))}
	if err := unchanged(path, x.stamp); err != nil {
		return Sight{}, err
	}
	s.add(path, memory{Sight: x, at: begun})
	return x, nil
}

// Wrote remembers the hash of a file that this run has put in its place.
func (s *Seen) Wrote(path, sha string) {
	if info, err := os.Stat(path); err == nil {
		s.add(path, memory{Sight: Sight{stampOf(info), sha}, ours: true})
	}
}

// learn takes the stamps of a journal for known.
func (s *Seen) learn(lines iter.Seq[*journalLine]) {
	now := time.Now()
	for l := range lines {
		for name, x := range l.Files {
			s.add(absolute(s.folder, name), memory{Sight: x, at: now})
		}
	}
}

// Certain is what is known of files, by their relative names, and is known still
// unless they get another stamp. What this run has written is.
func (s *Seen) Certain(paths ...string) map[string]Sight {
	s.mu.Lock()
	defer s.mu.Unlock()
	all := map[string]Sight{}
	for _, path := range paths {
		if n, ok := s.remembered[path]; ok && (n.ours || n.settled(n.at)) {
			all[Relative(s.folder, path)] = n.Sight
		}
	}
	return all
}

func (s *Seen) add(path string, n memory) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.remembered[path] = n
}

// A Visit is a file being read once from its start to its end, and what makes sure that
// all of it was one and the same file.
type Visit struct {
	seen  *Seen
	path  string
	begun time.Time
	had   stamp
	sha   string // of the whole file; empty: not known
}

// Visit begins to read a file. The caller opens it afterwards.
func (s *Seen) Visit(path string) (*Visit, error) {
	v := &Visit{seen: s, path: path, begun: time.Now()}
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	v.had = stampOf(info)
	if x, ok := s.recall(path, v.had); ok {
		v.sha = x.SHA256
	}
	return v, nil
}

// Known says whether the file's hash is known, so that nobody need take it while reading.
func (v *Visit) Known() bool { return v.sha != "" }

// End is the hash of the file, all of which has been read; sha gives it where it was not
// known. It fails if the file's content was changed meanwhile, or the file is gone.
func (v *Visit) End(ctx context.Context, sha func() (string, error)) (string, error) {
	if v.sha == "" {
		x, err := sha()
		if err != nil {
			return "", err
		}
		v.sha = x
	}
	info, err := os.Stat(v.path)
	if err != nil {
		return "", fmt.Errorf("it went away while it was being read: %w", err)
	}
	if stampOf(info) == v.had {
		v.seen.add(v.path, memory{Sight: Sight{v.had, v.sha}, at: v.begun})
		return v.sha, nil
	}
	// A touch or a link gives the same content another stamp.
	now, err := v.seen.Read(ctx, v.path)
	if err != nil {
		return "", err
	}
	if now.SHA256 != v.sha {
		return "", fmt.Errorf("%q was changed while it was being read", v.path)
	}
	return v.sha, nil
}

// unchanged fails if a file no longer has the stamp that it had.
func unchanged(path string, had stamp) error {
	info, err := os.Stat(path)
	if err != nil {
		return fmt.Errorf("while it was being read: %w", err)
	}
	if stampOf(info) != had {
		return fmt.Errorf("%q was changed while it was being read", path)
	}
	return nil
}

// untilDone reads a file until its context is done.
type untilDone struct {
	ctx context.Context
	f   *os.File
}

func (r untilDone) Read(p []byte) (int, error) {
	if err := r.ctx.Err(); err != nil {
		return 0, err
	}
	return r.f.Read(p)
}
