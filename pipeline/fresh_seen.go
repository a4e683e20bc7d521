package pipeline

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"sync"
	"time"

	"golang.org/x/sync/singleflight"
)

// A sight is a file's hash and the stamp the file had when it was taken.
type sight struct {
	stamp
	SHA256 string `json:"sha256"` // of the whole file, in hexadecimal
}

// A memory is a sight and when it was made.
type memory struct {
	sight
	at   time.Time // before its content was looked at
	ours bool      // this run wrote the file
}

// seen knows the hashes of files, those of earlier runs too, so that what
// nobody touched need not be read again. It is safe for use by several
// goroutines at once.
type seen struct {
	folder string // of the state file
	flight singleflight.Group

	mu         sync.Mutex
	remembered map[string]memory // by absolute path
	saved      map[string]sight  // as the state file has it

	made, savedMade map[string][]string // hashes of what the release has written, by absolute path; as the state file has it
}

// hash is the SHA-256 of a file and the stamp the file had meanwhile. The file
// is read only where its stamp tells of a change, or could hide one.
func (s *seen) hash(ctx context.Context, path string) (sight, error) {
	info, err := os.Stat(path)
	if err != nil {
		return sight{}, err
	}
	if x, ok := s.recall(path, stampOf(info)); ok {
		return x, nil
	}
	x, err, _ := s.flight.Do(path, func() (any, error) { return s.read(ctx, path) })
	if err != nil {
		return sight{}, err
	}
	return x.(sight), nil
}

// recall is the sight of a file that has that stamp, if it is known.
func (s *seen) recall(path string, has stamp) (sight, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	n, ok := s.remembered[path]
	if !ok || n.stamp != has || !n.ours && !n.settled(n.at) {
		return sight{}, false
	}
	return n.sight, true
}

// read takes a file's hash.
func (s *seen) read(ctx context.Context, path string) (sight, error) {
	f, err := os.Open(path)
	if err != nil {
		return sight{}, err
	}
	defer f.Close()
	begun := time.Now()
	info, err := f.Stat()
	if err != nil {
		return sight{}, err
	}
	h := sha256.New()
	if _, err := io.CopyBuffer(h, untilDone{ctx, f}, make([]byte, 1<<18)); err != nil {
		return sight{}, err
	}
	x := sight{stampOf(info), hex.EncodeToString(h.Sum(nil))}
	if err := unchanged(path, x.stamp); err != nil {
		return sight{}, err
	}
	s.add(path, memory{sight: x, at: begun})
	return x, nil
}

// wrote remembers the hash of a file that this run has put in its place.
func (s *seen) wrote(path, sha string) {
	if info, err := os.Stat(path); err == nil {
		s.add(path, memory{sight: sight{stampOf(info), sha}, ours: true})
	}
}

// learn takes the stamps of a journal for known.
func (s *seen) learn(lines []journalLine) {
	now := time.Now()
	for _, l := range lines {
		for name, x := range l.Files {
			s.add(absolute(s.folder, name), memory{sight: x, at: now})
		}
	}
}

// certain is what is known of files, by their relative names, and is known still
// unless they get another stamp. What this run has written is.
func (s *seen) certain(paths ...string) map[string]sight {
	s.mu.Lock()
	defer s.mu.Unlock()
	all := map[string]sight{}
	for _, path := range paths {
		if n, ok := s.remembered[path]; ok && (n.ours || n.settled(n.at)) {
			all[relative(s.folder, path)] = n.sight
		}
	}
	return all
}

func (s *seen) add(path string, n memory) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.remembered[path] = n
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
