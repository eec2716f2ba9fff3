package main

import (
	"errors"
	"fmt"
	"os"
)

var errUsage = errors.New("usage: bench kernel --data DIR [--threads N] [--reps N] [--round N] [--tasks LIST] | bench table [--cpu] FILE")

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "bench:", err)
		os.Exit(2)
	}
}

func run(args []string) error {
	if len(args) == 0 {
		return errUsage
	}
	switch args[0] {
	case "kernel":
		return runKernel(args[1:])
	case "table":
		return runTable(args[1:])
	}
	return errUsage
}
