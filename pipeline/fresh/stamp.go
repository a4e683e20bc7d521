package fresh

import (
	"io/fs"
	"time"
)

// A stamp is what a file system says of a file without its being read. Equal
// stamps mean equal content, unless the file was written to so soon after it
// was last looked at that the clock of the file system had not moved on.
type stamp struct {
	Size    int64 `json:"size"`
	Written int64 `json:"modified_ns"` // nanoseconds since 1970
	// of content, name or rights, which nobody can set back; 0: not known here
	Changed int64  `json:"changed_ns,omitempty"`
	Inode   uint64 `json:"inode,omitempty"` // 0: not known here
}

func stampOf(info fs.FileInfo) stamp {
	s := stamp{Size: info.Size(), Written: info.ModTime().UnixNano()}
	s.Changed, s.Inode = systemStamp(info)
	return s
}

// Ticks of the clocks that file systems stamp by. Those that keep nanoseconds
// take them from a kernel clock of 100 Hz or faster; those that do not keep
// whole seconds, or two.
const (
	fineTick   = 20 * time.Millisecond
	coarseTick = 2 * time.Second
)

// settled says whether a change at the given time or later would have given
// the file another stamp.
func (s stamp) settled(at time.Time) bool {
	last, tick := max(s.Written, s.Changed), fineTick
	if last%int64(time.Second) == 0 {
		tick = coarseTick
	}
	return at.UnixNano()-last > int64(tick)
}
