package whole

import (
	"os"

	"golang.org/x/sys/unix"
)

// begin asks the system to begin to bring a stretch of f to the disk. It is a hint, and nothing
// depends on it.
func begin(f *os.File, from, bytes int64) {
	_ = unix.SyncFileRange(int(f.Fd()), from, bytes, unix.SYNC_FILE_RANGE_WRITE)
}
