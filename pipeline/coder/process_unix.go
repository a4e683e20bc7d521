//go:build unix

package coder

import (
	"os/exec"
	"syscall"
)

// apart has a command run in a process group of its own.
func apart(cmd *exec.Cmd) {
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	withUs(cmd.SysProcAttr)
}

// ask asks a command's group to end.
func ask(cmd *exec.Cmd) error { return syscall.Kill(-cmd.Process.Pid, syscall.SIGTERM) }

// end kills what is left of a command's group, right after the command has ended, before its number can be
// another's.
func end(cmd *exec.Cmd) { _ = syscall.Kill(-cmd.Process.Pid, syscall.SIGKILL) }
