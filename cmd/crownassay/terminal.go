package main

import (
	"io"
	"os"

	"golang.org/x/term"

	"crownassay/record"
)

// isTerminal reports whether w is a terminal.
func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// look returns how a ledger is set on w: coloured on a terminal unless
// NO_COLOR is set, as wide as the terminal up to 100 columns.
func look(w io.Writer) record.Look {
	if !isTerminal(w) {
		return record.Look{}
	}
	l := record.Look{Color: os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"}
	if n, _, err := term.GetSize(int(w.(*os.File).Fd())); err == nil {
		l.Width = min(n, 100)
	}
	return l
}
