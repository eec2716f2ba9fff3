package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/alecthomas/kong"
)

// The exit statuses; a contract.
const (
	statusConforms = 0 // measured, nothing fails
	statusFails    = 1 // measured, something fails
	statusUnable   = 2 // could not be measured
)

// commands is the command line.
type commands struct {
	Assay    assayCommand    `cmd:"" help:"Measure a case and print its ledger."`
	Surface  surfaceCommand  `cmd:"" help:"Say what is in one mesh file before it is used."`
	Phantom  phantomCommand  `cmd:"" help:"Write an invented case with exactly known geometry."`
	Gauge    gaugeCommand    `cmd:"" help:"Check the practice's own scanner on a reference body, and follow it over time."`
	Readings readingsCommand `cmd:"" help:"Print the table of all readings: definitions, limits and sources."`
	Serve    serveCommand    `cmd:"" help:"Serve the bench, the local page with its store of cases."`
	Watch    watchCommand    `cmd:"" help:"Add mesh files that come into a folder to the bench."`
	Visit    visitCommand    `cmd:"" help:"Plan the visit in which a crown is made: stages by a tap, ready by when, how long to book."`
	Record   recordCommand   `cmd:"" help:"Read, verify and add to the record of a case."`
	Luting   lutingCommand   `cmd:"" help:"Say by which family of luting material a crown can be fixed, and list the steps."`
	Practice practiceCommand `cmd:"" help:"Learn from all crowns of the bench: outcomes, contacts, survival."`
	Report   reportCommand   `cmd:"" help:"Write the report of a case as PDF, or the sheet for the patient."`
	Export   exportCommand   `cmd:"" help:"Write a case for other programs: JSON, CSV, FHIR, GLB or PLY."`
	Audit    auditCommand    `cmd:"" help:"Measure a whole archive again and look over all its cases."`
	Work     workCommand     `cmd:"" help:"Measure cases that audits of any machine have queued."`
	Backup   backupCommand   `cmd:"" help:"Write an encrypted backup of the bench, also while it is served."`
	Restore  restoreCommand  `cmd:"" help:"Read a backup into a new folder and check all of it."`
	Demo     demoCommand     `cmd:"" help:"Write the invented cases, measure them and show them on the bench."`
	Version  versionCommand  `cmd:"" help:"Print the version."`
}

// program is what a command works with.
type program struct {
	ctx            context.Context
	stdin          io.Reader
	stdout, stderr io.Writer
}

// outcome is an exit status that is no error: a case was measured.
type outcome int

func (o outcome) Error() string { return fmt.Sprintf("exit status %d", int(o)) }

// left is thrown to leave the parser, which wants to end the process after
// printing help.
type left int

// run parses the arguments, runs the command and returns the exit status.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) (status int) {
	defer func() {
		if r := recover(); r != nil {
			code, ok := r.(left)
			if !ok {
				panic(r)
			}
			status = int(code)
		}
	}()
	p := &program{ctx, stdin, stdout, stderr}
	err := p.parseAndRun(args)
	var o outcome
	switch {
	case err == nil:
		return statusConforms
	case errors.As(err, &o):
		return int(o)
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(stderr, "crownassay: stopped")
	default:
		fmt.Fprintln(stderr, "crownassay:", err)
	}
	return statusUnable
}

func (p *program) parseAndRun(args []string) error {
	var c commands
	parser, err := kong.New(&c,
		kong.Name("crownassay"),
		kong.Description("An independent measuring bench for a crown preparation. Exit status: 0 measured and nothing fails, "+
			"1 something fails, 2 could not be measured."),
		kong.Writers(p.stdout, p.stderr),
		kong.Exit(func(code int) { panic(left(code)) }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, WrapUpperBound: 80}),
		kong.Bind(p),
	)
	if err != nil {
		return err
	}
	if len(args) == 0 {
		args = []string{"--help"}
	}
	k, err := parser.Parse(args)
	if err != nil {
		return fmt.Errorf("read command line: %w; \"crownassay --help\" lists the commands", err)
	}
	return k.Run()
}
