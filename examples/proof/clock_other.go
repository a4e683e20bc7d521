//go:build !linux

package main

import "time"

var began = time.Now()

// processorTime is the time since the program began. There is no clock of a thread here,
// so whatever else runs adds to what is measured.
func processorTime() time.Duration { return time.Since(began) }
