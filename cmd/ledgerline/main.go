// Ledgerline renders a release from a text file and keeps a ledger of the
// headroom that each stage of its chain gained or lost.
package main

import (
	"context"
	"os"
)

func main() {
	os.Exit(run(os.Args[1:], &streams{in: os.Stdin, out: os.Stdout, err: os.Stderr}))
}

// run does what the arguments ask and returns the exit code.
func run(args []string, s *streams) int {
	v, err := parse(args, s)
	if err != nil {
		return s.report(err)
	}
	ctx, stop := interruptible(context.Background())
	defer stop()
	return s.report(interrupted(ctx, v.run(ctx, s)))
}
