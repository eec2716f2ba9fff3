package main

import (
	"fmt"
	"io"
	"strings"

	"crownassay/conformity"
	"crownassay/internal/text"
	"crownassay/reading"
)

const textWidth = 80

// readingsText writes the table for a terminal.
func readingsText(w io.Writer, l *conformity.Limits) error {
	var b strings.Builder
	put := func(indent, s string) { b.WriteString(strings.Join(text.Wrap(indent, s, textWidth), "\n") + "\n") }
	b.WriteString("CONVENTIONS\n")
	for _, c := range reading.Conventions {
		put("  ", c.Name+": "+c.Text)
	}
	for _, m := range reading.Measurands {
		fmt.Fprintf(&b, "\n%s\n", m.Name)
		put("  ", fmt.Sprintf("%s, %s, hold point %s", m.ID, m.Unit, m.HoldPoint))
		put("  ", m.Definition)
		rows := l.RowsOf(m.ID)
		if len(rows) == 0 {
			put("  Limit: ", noLimit(m))
		}
		for _, r := range rows {
			put("  Limit: ", fmt.Sprintf("%s (%s). %s [%s]", limitWords(r.Min, r.Max), scope(r), r.Source, r.Status))
		}
	}
	b.WriteString("\nMATERIALS\n")
	for _, m := range l.Materials {
		put("  ", fmt.Sprintf("%s: %s, at least %s mm thick. %s [%s]", m.Name, m.Title, plainNumber(m.Thickness), m.Source, m.Status))
	}
	put("  ", fmt.Sprintf("Cement space: %s mm. %s [%s]", plainNumber(l.CementSpace.MM), l.CementSpace.Source, l.CementSpace.Status))
	_, err := io.WriteString(w, b.String())
	return err
}
