package main

import (
	"fmt"

	"crownassay/record"
)

type versionCommand struct{}

// Run prints the version and the format of the record.
func (versionCommand) Run(p *program) error {
	_, err := fmt.Fprintf(p.stdout, "crownassay %s, record format %s\n", record.Version, record.Format)
	return err
}
