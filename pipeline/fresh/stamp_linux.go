package fresh

import (
	"io/fs"
	"syscall"
)

// systemStamp is what this system adds to a stamp.
func systemStamp(info fs.FileInfo) (changed int64, inode uint64) {
	if st, ok := info.Sys().(*syscall.Stat_t); ok {
		return st.Ctim.Nano(), st.Ino
	}
	return 0, 0
}
