package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"crownassay/conformity"
	"crownassay/reading"
)

type readingsCommand struct {
	Format string `enum:"text,markdown,json" default:"text" help:"One of text, markdown, json."`
	Out    string `placeholder:"FILE" help:"Write to FILE instead of printing."`
}

// Run prints the table of measurands with the built-in limits.
func (c *readingsCommand) Run(p *program) error {
	write := map[string]func(io.Writer, *conformity.Limits) error{
		"text": readingsText, "markdown": readingsMarkdown, "json": readingsJSON,
	}[c.Format]
	var b bytes.Buffer
	if err := write(&b, conformity.BuiltIn()); err != nil {
		return fmt.Errorf("write table of readings: %w", err)
	}
	if c.Out != "" {
		return os.WriteFile(c.Out, b.Bytes(), 0o644)
	}
	_, err := p.stdout.Write(b.Bytes())
	return err
}

// limitWords says a tolerance interval in words.
func limitWords(min, max *float64) string {
	switch {
	case min != nil && max != nil:
		return plainNumber(*min) + " to " + plainNumber(*max)
	case min != nil:
		return "at least " + plainNumber(*min)
	case max != nil:
		return "at most " + plainNumber(*max)
	}
	return ""
}

func plainNumber(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// scope says which materials, teeth and part a row is for.
func scope(r conformity.Row) string {
	var s []string
	if r.Part != "" {
		s = append(s, r.Part)
	}
	if len(r.Materials) > 0 {
		s = append(s, strings.Join(r.Materials, ", "))
	}
	if len(r.Classes) > 0 {
		s = append(s, strings.Join(r.Classes, ", "))
	}
	if len(s) == 0 {
		return "all"
	}
	return strings.Join(s, "; ")
}

// noLimit says what a reading without rows is compared with.
func noLimit(m reading.Measurand) string {
	switch {
	case m.ID == "preparation.resistance.limit":
		return "compared with the mean taper of the same two walls"
	case m.Sense == reading.NoLimit:
		return "none; it informs"
	}
	return "none is published; it informs until the practice sets one (" + string(m.Sense) + ")"
}
