package assay

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"crownassay/conformity"
	"crownassay/geom"
	"crownassay/internal/yamldoc"
	"crownassay/luting"
	"crownassay/tooth"
	"crownassay/unit"
)

// written is a description as it is written in YAML.
type written struct {
	Tooth      any             `yaml:"tooth"`
	Numbering  tooth.Numbering `yaml:"numbering"`
	Material   string          `yaml:"material"`
	Units      string          `yaml:"units"`
	Surfaces   map[Role]string `yaml:"surfaces"`
	At         []float64       `yaml:"at"`
	Mesial     []float64       `yaml:"mesial"`
	FinishLine string          `yaml:"finish_line"`
	Limits     string          `yaml:"limits"`
	Luting     string          `yaml:"luting"`
	Scanner    struct {
		UM float64 `yaml:"uncertainty_um"`
	} `yaml:"scanner"`
	Rule     conformity.Rule `yaml:"rule"`
	CementUM *float64        `yaml:"cement_space_um"`
	ToolUM   *float64        `yaml:"tool_radius_um"`
	Block    string          `yaml:"block"`
	Dentist  any             `yaml:"dentist"`
	Date     string          `yaml:"date"`
}

// check turns the description into a Case.
func (w *written) check(d *yamldoc.Doc, file string) (*Case, error) {
	c := &Case{Path: file, Numbering: w.Numbering, Unit: w.Units, ScannerUM: w.Scanner.UM, LimitsFile: w.Limits, LutingFile: w.Luting, LineFile: w.FinishLine, Rule: w.Rule}
	if c.Numbering == "" {
		c.Numbering = tooth.ISO
	}
	if c.Unit == "" {
		c.Unit = "mm"
	}
	c.Scale, _ = unit.MillimetresPer(c.Unit)
	var err error
	if c.Tooth, err = tooth.Parse(strings.TrimSpace(fmt.Sprint(w.Tooth)), c.Numbering); err != nil {
		return nil, d.Fault(err.Error(), "", "tooth")
	}
	for _, step := range []func(*yamldoc.Doc, *Case) error{w.limits, w.luting, w.material, w.mill, w.sources, w.directions, w.line, w.visit} {
		if err := step(d, c); err != nil {
			return nil, err
		}
	}
	return c, nil
}

// visit reads who and when; neither is measured with.
func (w *written) visit(d *yamldoc.Doc, c *Case) error {
	if w.Dentist != nil {
		c.Dentist = strings.TrimSpace(fmt.Sprint(w.Dentist))
	}
	if len(c.Dentist) > mostCode {
		return d.Fault(fmt.Sprintf("read dentist: a code of %d bytes", len(c.Dentist)), "give initials or a number, not a name", "dentist")
	}
	if c.Date = w.Date; c.Date == "" {
		return nil
	}
	if _, err := time.Parse(time.DateOnly, c.Date); err != nil {
		return d.Fault(fmt.Sprintf("read date: %q is no day", c.Date), "write it as 2026-05-31", "date")
	}
	return nil
}

// mostCode is how long a dentist's code may be, bytes.
const mostCode = 20

func (w *written) limits(d *yamldoc.Doc, c *Case) (err error) {
	c.Limits = conformity.BuiltIn()
	if w.Limits != "" {
		path, text, err := own(d, c, w.Limits, "limits")
		if err != nil {
			return err
		}
		if c.Limits, err = c.Limits.Overlay(path, text); err != nil {
			return err
		}
	}
	c.CementSpace = c.Limits.CementSpace.MM
	if w.CementUM != nil {
		c.CementSpace = *w.CementUM / 1000
	}
	return nil
}

func (w *written) luting(d *yamldoc.Doc, c *Case) error {
	c.Luting = luting.BuiltIn()
	if w.Luting == "" {
		return nil
	}
	path, text, err := own(d, c, w.Luting, "luting")
	if err != nil {
		return err
	}
	c.Luting, err = c.Luting.Overlay(path, text)
	return err
}

// own reads a file of the practice's own.
func own(d *yamldoc.Doc, c *Case, file, key string) (path string, text []byte, err error) {
	if path, err = fileOf(d, c, file, key); err != nil {
		return "", nil, err
	}
	text, err = readText(path)
	return path, text, err
}

func (w *written) material(d *yamldoc.Doc, c *Case) (err error) {
	if c.Material, err = c.Limits.Material(w.Material); err != nil {
		return d.Fault(err.Error(), "", "material")
	}
	return nil
}

func (w *written) mill(d *yamldoc.Doc, c *Case) error {
	c.ToolRadius, c.Blocks = c.Limits.ToolRadius.MM, c.Limits.Blocks
	if w.ToolUM != nil {
		c.ToolRadius = *w.ToolUM / 1000
	}
	if w.Block == "" {
		return nil
	}
	b, err := c.Limits.Block(w.Block)
	if err != nil {
		return d.Fault(err.Error(), "", "block")
	}
	c.Blocks = []conformity.Block{b}
	return nil
}

// sources finds the mesh files; no two roles may share one.
func (w *written) sources(d *yamldoc.Doc, c *Case) error {
	for _, role := range Roles {
		file, ok := w.Surfaces[role]
		if !ok {
			continue
		}
		path, err := fileOf(d, c, file, "surfaces", string(role))
		if err != nil {
			return err
		}
		for _, other := range c.Surfaces {
			if filepath.Clean(other.Path) == filepath.Clean(path) {
				return d.Fault(fmt.Sprintf("read surfaces: %s and %s are the same file %s", other.Role, role, file),
					"give each role its own scan", "surfaces", string(role))
			}
		}
		c.Surfaces = append(c.Surfaces, Source{role, file, path})
	}
	return nil
}

// fileOf returns the path of a file named in the description, after looking
// that it is there.
func fileOf(d *yamldoc.Doc, c *Case, file string, keys ...string) (string, error) {
	path := file
	if !filepath.IsAbs(path) {
		path = filepath.Join(filepath.Dir(c.Path), file)
	}
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "", d.Fault(fmt.Sprintf("find %s: no such file", file), "names are relative to the folder of "+CaseFile, keys...)
	case err != nil:
		return "", d.Fault(fmt.Sprintf("find %s: %v", file, errors.Unwrap(err)), "", keys...)
	case info.IsDir():
		return "", d.Fault(fmt.Sprintf("find %s: it is a folder", file), "give the file in it", keys...)
	}
	return path, nil
}

func (w *written) directions(d *yamldoc.Doc, c *Case) error {
	if w.At != nil {
		p := geom.V(w.At[0], w.At[1], w.At[2]).Mul(c.Scale)
		if !(p.Norm() < 1e100) {
			return d.Fault("read at: the point is not finite", "give for example [12.1, -3.0, 7.7]", "at")
		}
		c.At = &p
	}
	if w.Mesial == nil {
		return nil
	}
	m := geom.V(w.Mesial[0], w.Mesial[1], w.Mesial[2])
	if !(m.Norm() > 0) || m.Norm() > 1e100 {
		return d.Fault("read mesial: the direction has no length", "give for example [1, 0, 0]", "mesial")
	}
	m = m.Unit()
	c.Mesial = &m
	return nil
}

func (w *written) line(d *yamldoc.Doc, c *Case) error {
	if w.FinishLine == "" {
		return nil
	}
	path, err := fileOf(d, c, w.FinishLine, "finish_line")
	if err != nil {
		return err
	}
	text, err := readText(path)
	if err != nil {
		return err
	}
	if c.FinishLine, err = readPolyline(path, text); err != nil {
		return err
	}
	for i, p := range c.FinishLine {
		c.FinishLine[i] = p.Mul(c.Scale)
	}
	return nil
}
