package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"crownassay/bvh"
	"crownassay/mesh"
	"crownassay/meshio"
)

type surfaceCommand struct {
	File string `arg:"" help:"Mesh file: STL, PLY, OBJ or 3MF."`
	JSON bool   `name:"json" help:"Print one JSON document instead of text."`
}

// Run describes the file.
func (c *surfaceCommand) Run(p *program) error {
	f, err := meshio.Read(c.File)
	if err != nil {
		return err
	}
	d := f.Describe()
	cross, err := bvh.New(f.Mesh).SelfCrossings(p.ctx)
	if err != nil {
		return err
	}
	if len(cross) > 0 {
		d.Defects = append(d.Defects, mesh.Defect{Kind: mesh.SelfCrossing, Count: len(cross), First: int(cross[0])})
	}
	if c.JSON {
		e := json.NewEncoder(p.stdout)
		e.SetEscapeHTML(false)
		return e.Encode(d)
	}
	return describe(p.stdout, d)
}

// describe prints a description as text.
func describe(w io.Writer, d *meshio.Description) error {
	var b strings.Builder
	unit := d.Unit
	row := func(name, format string, args ...any) {
		fmt.Fprintf(&b, "%-12s"+format+"\n", append([]any{name}, args...)...)
	}
	row("format", "%s", d.Format)
	row("triangles", "%d", d.Triangles)
	row("vertices", "%d", d.Vertices)
	row("shells", "%d, %s", d.Shells, map[bool]string{true: "closed", false: "open"}[d.Closed])
	row("borders", "%d", d.Borders)
	if unit == "" {
		row("unit", "not known")
	} else {
		row("unit", "%s", unit)
	}
	lo, hi := d.Box[0], d.Box[1]
	row("box", "%.3f %.3f %.3f to %.3f %.3f %.3f %s", lo[0], lo[1], lo[2], hi[0], hi[1], hi[2], unit)
	row("area", "%.3f %s", d.Area, square(unit, 2))
	if d.Closed {
		row("volume", "%.3f %s", d.Volume, square(unit, 3))
	}
	for i, f := range d.Defects {
		row(onlyFirst(i, "defects"), "%d %s, the first at %d", f.Count, f.Kind, f.First)
	}
	if len(d.Defects) == 0 {
		row("defects", "none")
	}
	for i, n := range d.Notes {
		row(onlyFirst(i, "notes"), "%s", n)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func onlyFirst(i int, name string) string {
	if i == 0 {
		return name
	}
	return ""
}

// square returns the unit to a power, or nothing for an unknown unit.
func square(unit string, power int) string {
	if unit == "" {
		return ""
	}
	return fmt.Sprintf("%s^%d", unit, power)
}
