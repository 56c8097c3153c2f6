//go:build unix

package main

import (
	"os/exec"
	"syscall"
)

// ownGroup puts the child into its own process group, so that an interrupt
// reaches the test programs that the go command starts, too.
func ownGroup(cmd *exec.Cmd) {
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	cmd.Cancel = func() error { return syscall.Kill(-cmd.Process.Pid, syscall.SIGINT) }
}

// killGroup ends what is left of the child's group. Nothing left is fine.
func killGroup(cmd *exec.Cmd) { _ = syscall.Kill(-cmd.Process.Pid, syscall.SIGKILL) }
