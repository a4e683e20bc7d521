package trial

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/whole"
)

// Folder is the folder beside the release file that has the records.
const Folder = "listening"

// stamp is the time in a record's name, UTC.
const stamp = "20060102T150405Z"

// Write writes a record as FOLDER/TRACK-TIME.json in the folder of the release, over no other, and returns
// its path.
func Write(releaseFolder string, r *Result) (string, error) {
	folder := filepath.Join(releaseFolder, Folder)
	if err := os.MkdirAll(folder, 0o777); err != nil {
		return "", err
	}
	var text bytes.Buffer
	if err := ledger.EncodeJSON(&text, r); err != nil {
		return "", err
	}
	base := filepath.Join(folder, r.Track+"-"+r.Began.Format(stamp))
	path := base + ".json"
	for n := 2; ; n++ {
		if _, err := os.Lstat(path); errors.Is(err, fs.ErrNotExist) {
			break
		}
		path = fmt.Sprintf("%s-%d.json", base, n)
	}
	if err := whole.Write(path, text.Bytes()); err != nil {
		return "", fmt.Errorf("%s: %w", path, err)
	}
	r.File = filepath.Base(path)
	return path, nil
}

// largest is the longest record that is read, in bytes.
const largest = 4 << 20

// Read reads the records in the folder of a release, in the order of their names. A file that is none of ours
// is passed over; one that cannot be read is told in notes.
func Read(releaseFolder string) (all []Result, notes []string) {
	paths, _ := filepath.Glob(filepath.Join(escaped(releaseFolder), Folder, "*.json"))
	for _, path := range paths {
		r, err := readOne(path)
		if err != nil {
			notes = append(notes, fmt.Sprintf("%s is no record of a listening trial: %v",
				filepath.Join(Folder, filepath.Base(path)), err))
			continue
		}
		all = append(all, *r)
	}
	return all, notes
}

func readOne(path string) (*Result, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if info.Size() > largest {
		return nil, fmt.Errorf("it has %d bytes; want at most %d", info.Size(), largest)
	}
	text, err := whole.ReadFile(path)
	if err != nil {
		return nil, err
	}
	r := &Result{}
	if err := json.Unmarshal(text, r); err != nil {
		return nil, err
	}
	if r.Schema != Schema || letters[r.Protocol.Kind] == nil {
		return nil, fmt.Errorf("schema %d, kind %q; want schema %d and abx, preference or grades", r.Schema,
			r.Protocol.Kind, Schema)
	}
	r.File = filepath.Base(path)
	return r, nil
}

// escaped is a folder's name without signs of a pattern.
func escaped(folder string) string {
	return strings.NewReplacer("[", "[[]", "*", "[*]", "?", "[?]").Replace(folder)
}
