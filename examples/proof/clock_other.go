//go:build !linux

package main

import "time"

var began = time.Now()

// processorTime is the time since the program began: here there is no clock of a
// thread, so that whatever else runs adds to what is measured with it.
func processorTime() time.Duration { return time.Since(began) }
