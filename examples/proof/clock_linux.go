package main

import (
	"time"

	"golang.org/x/sys/unix"
)

// processorTime is the processor time that the calling thread has used so far.
func processorTime() time.Duration {
	var t unix.Timespec
	if err := unix.ClockGettime(unix.CLOCK_THREAD_CPUTIME_ID, &t); err != nil {
		panic("internal error: no clock of a thread: " + err.Error())
	}
	return time.Duration(t.Nano())
}
