package main

import (
	"fmt"
	"io"
	"strings"

	"crownassay/conformity"
	"crownassay/reading"
)

const markdownHead = `<!-- Made by "go generate ./cmd/crownassay" from reading/table.go and conformity/limits.yaml. Do not edit. -->
# Readings

Each reading has an id, a definition by which two people measure the same way, and, where one exists, a limit with its
source. The ids are a contract: readings are added, never renamed. Lengths are millimetres, angles degrees.

The status of a limit says how far it can be trusted: *read* was seen in the source or on a page that prints it, *memory*
was not looked up for this table, *computed* follows from what the text says, *common practice* is held by the trade without one
source, *practice* has no published source and is a starting value for the practice to replace. The maker's instructions for
the material and the cement in hand come before any row here.

## Conventions

`

// readingsMarkdown writes the table as docs/READINGS.md holds it.
func readingsMarkdown(w io.Writer, l *conformity.Limits) error {
	var b strings.Builder
	b.WriteString(markdownHead)
	for _, c := range reading.Conventions {
		fmt.Fprintf(&b, "- **%s.** %s\n", c.Name, c.Text)
	}
	group := reading.HoldPoint("")
	for _, m := range reading.Measurands {
		if m.HoldPoint != group {
			group = m.HoldPoint
			fmt.Fprintf(&b, "\n## Hold point: %s\n", group)
		}
		markdownMeasurand(&b, m, l.RowsOf(m.ID))
	}
	markdownMaterials(&b, l)
	_, err := io.WriteString(w, b.String())
	return err
}

func markdownMeasurand(b *strings.Builder, m reading.Measurand, rows []conformity.Row) {
	fmt.Fprintf(b, "\n### %s\n\n`%s`, unit %s", m.Name, m.ID, m.Unit)
	if m.Sectioned {
		b.WriteString(", with a profile")
	}
	fmt.Fprintf(b, "\n\n%s\n\n", m.Definition)
	if len(rows) == 0 {
		fmt.Fprintf(b, "Limit: %s.\n", noLimit(m))
		return
	}
	b.WriteString("| limit | for | source | status |\n|---|---|---|---|\n")
	for _, r := range rows {
		fmt.Fprintf(b, "| %s | %s | %s | %s |\n", limitWords(r.Min, r.Max), scope(r), r.Source, r.Status)
	}
}

func markdownMaterials(b *strings.Builder, l *conformity.Limits) {
	b.WriteString("\n## Materials\n\n| name | material | least thickness, mm | source | status |\n|---|---|---|---|---|\n")
	for _, m := range l.Materials {
		fmt.Fprintf(b, "| %s | %s | %s | %s | %s |\n", m.Name, m.Title, plainNumber(m.Thickness), m.Source, m.Status)
	}
	b.WriteString("\n| material | modulus, GPa | strength, MPa | class of ISO 6872 | shrinkage | source | status |\n|---|---|---|---|---|---|---|\n")
	for _, m := range l.Materials {
		if k := m.Mechanics; k != (conformity.Mechanics{}) {
			fmt.Fprintf(b, "| %s | %s | %s | %s | %s | %s | %s |\n", m.Title, orDash(k.Modulus), orDash(k.Strength), orDash(float64(k.Class)),
				orDash(k.Shrinkage), k.Source, k.Status)
		}
	}
	b.WriteString("\n| block | length, width, height, mm | sprue, mm | source | status |\n|---|---|---|---|---|\n")
	for _, k := range l.Blocks {
		fmt.Fprintf(b, "| %s | %s, %s, %s | %s | %s | %s |\n", k.Name, plainNumber(k.Length), plainNumber(k.Width), plainNumber(k.Height),
			plainNumber(k.Sprue), k.Source, k.Status)
	}
	fmt.Fprintf(b, "\nRadius of the finest milling tool's tip: %s mm unless the case says otherwise. %s (%s).\n",
		plainNumber(l.ToolRadius.MM), capital(l.ToolRadius.Source), l.ToolRadius.Status)
	fmt.Fprintf(b, "\nCement space: %s mm unless the case says otherwise. %s (%s).\n",
		plainNumber(l.CementSpace.MM), capital(l.CementSpace.Source), l.CementSpace.Status)
}

// orDash prints a number, and a dash for what is not known.
func orDash(x float64) string {
	if x == 0 {
		return "-"
	}
	return plainNumber(x)
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
