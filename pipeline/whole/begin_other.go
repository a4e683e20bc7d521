//go:build !linux

package whole

import "os"

func begin(*os.File, int64, int64) {}
