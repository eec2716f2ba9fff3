package assay

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"

	"crownassay/geom"
)

// readPolyline reads a closed polyline: one x,y,z row a point, separated by
// commas, semicolons, tabs or spaces; # begins a comment and the first row may
// name the columns. A last point equal to the first is dropped. Fewer than
// three points, and anything that is no finite number, is refused with the
// line.
func readPolyline(name string, text []byte) ([]geom.Vec, error) {
	var out []geom.Vec
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	first := true
	for i, row := range strings.Split(string(text), "\n") {
		row, _, _ = strings.Cut(row, "#")
		fields := columns(row)
		if len(fields) == 0 {
			continue
		}
		p, err := point(fields)
		if err != nil && first && isHeader(fields) {
			first = false
			continue
		}
		if err != nil {
			return nil, fmt.Errorf("%s:%d: read finish line: %w; give x,y,z with decimal points, one point a row", name, i+1, err)
		}
		first = false
		out = append(out, p)
	}
	if n := len(out); n > 1 && out[0] == out[n-1] {
		out = out[:n-1]
	}
	if len(out) < 3 {
		return nil, fmt.Errorf("%s: read finish line: %d points; a closed line needs at least 3", name, len(out))
	}
	return out, nil
}

// columns splits a row at its separators; two commas in a row leave an empty
// column.
func columns(row string) []string {
	row = strings.TrimSpace(row)
	if row == "" {
		return nil
	}
	for _, sep := range []string{";", ","} {
		if strings.Contains(row, sep) {
			f := strings.Split(row, sep)
			for i := range f {
				f[i] = strings.TrimSpace(f[i])
			}
			return f
		}
	}
	return strings.Fields(row)
}

// isHeader reports whether every field begins like a name.
func isHeader(fields []string) bool {
	for _, f := range fields {
		f = strings.Trim(f, `"' `)
		if f == "" || !strings.ContainsAny(f[:1], "xyzXYZ") {
			return false
		}
	}
	return true
}

func point(fields []string) (geom.Vec, error) {
	if len(fields) != 3 {
		return geom.Vec{}, fmt.Errorf("%d columns instead of 3", len(fields))
	}
	var c [3]float64
	for k, f := range fields {
		x, err := strconv.ParseFloat(f, 64)
		if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
			return geom.Vec{}, fmt.Errorf("%q is no finite number", f)
		}
		c[k] = x
	}
	return geom.V(c[0], c[1], c[2]), nil
}
