//go:build unix

package whole

import (
	"io/fs"
	"syscall"
)

// identity is a file's device and its number there.
func identity(info fs.FileInfo) (ID, bool) {
	if st, ok := info.Sys().(*syscall.Stat_t); ok {
		return ID{uint64(st.Dev), uint64(st.Ino)}, true
	}
	return ID{}, false
}
