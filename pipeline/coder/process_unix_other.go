//go:build unix && !linux

package coder

import "syscall"

// withUs would have a command end with us if we are killed. No other system can.
func withUs(*syscall.SysProcAttr) {}
