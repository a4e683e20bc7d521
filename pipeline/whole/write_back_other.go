//go:build !linux

package whole

import "os"

func writeBack(*os.File, int64, int64) {}
