package whole

import (
	"os"

	"golang.org/x/sys/unix"
)

// writeBack asks the system to bring a stretch of f to the disk from now on. It is a hint, and nothing
// depends on it.
func writeBack(f *os.File, from, bytes int64) {
	_ = unix.SyncFileRange(int(f.Fd()), from, bytes, unix.SYNC_FILE_RANGE_WRITE)
}
