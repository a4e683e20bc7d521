package coder

import "syscall"

// withUs has a command end with us, even if we are killed.
func withUs(a *syscall.SysProcAttr) { a.Pdeathsig = syscall.SIGKILL }
