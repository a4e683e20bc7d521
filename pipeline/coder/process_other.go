//go:build !unix

package coder

import "os/exec"

// apart does nothing: there are no process groups.
func apart(*exec.Cmd) {}

// ask ends a command: it cannot be asked.
func ask(cmd *exec.Cmd) error { return cmd.Process.Kill() }

// end does nothing: what a command has started is not known.
func end(*exec.Cmd) {}
