package record

import (
	"context"
	"math"
	"slices"
)

// NewestRun returns the newest run of a record that holds, with its document;
// nil where there is none.
func NewestRun(ctx context.Context, b Book, all []Sealed) (*Sealed, []byte, error) {
	s := Stand(all)
	if s.Run == nil {
		return nil, nil, nil
	}
	doc, _, err := b.Document(ctx, s.Run.Run)
	return s.Run, doc, err
}

// sameLine is how far two finish lines of the same case may lie apart, mm: one
// measured about a line that was moved and one measured anew with that line
// differ by less than a tenth of it, and a line that someone has moved by more.
const sameLine = 0.05

// SameCase reports whether two documents are of the same files, measured for
// the same tooth and material with the same settings and limits about the same
// finish line, so that they may differ by rounding or by the version only.
func SameCase(a, b *Document) bool {
	return a.Tooth == b.Tooth && a.Numbering == b.Numbering && a.Material == b.Material && a.Settings == b.Settings &&
		slices.EqualFunc(a.Surfaces, b.Surfaces, func(x, y surfaceJSON) bool { return x.Role == y.Role && x.SHA256 == y.SHA256 }) &&
		sameLimits(a, b) && nearLine(a.FinishLine, b.FinishLine) && nearLine(b.FinishLine, a.FinishLine)
}

// sameLimits compares the limits of readings that both have.
func sameLimits(a, b *Document) bool {
	for i := range a.Readings {
		x := &a.Readings[i]
		y := b.Reading(x.ID)
		if y == nil {
			continue
		}
		if (x.Limit == nil) != (y.Limit == nil) {
			return false
		}
		// a limit that comes from the case itself follows its value
		if x.Limit != nil && (x.Limit.Source != y.Limit.Source || x.Limit.Status != "computed" && !(same(x.Limit.Min, y.Limit.Min) && same(x.Limit.Max, y.Limit.Max))) {
			return false
		}
	}
	return true
}

// nearLine reports whether every point of a closed line lies near another.
func nearLine(a, b [][3]float64) bool {
	for _, p := range a {
		if !near(p, b) {
			return false
		}
	}
	return true
}

func near(p [3]float64, line [][3]float64) bool {
	for i := range line {
		if segmentSq(p, line[i], line[(i+1)%len(line)]) <= sameLine*sameLine {
			return true
		}
	}
	return false
}

// segmentSq is the squared distance of a point from a segment.
func segmentSq(p, a, b [3]float64) float64 {
	ab, ap, t, lenSq := [3]float64{}, [3]float64{}, 0.0, 0.0
	for k := range p {
		ab[k], ap[k] = b[k]-a[k], p[k]-a[k]
		t += ab[k] * ap[k]
		lenSq += ab[k] * ab[k]
	}
	if lenSq > 0 {
		t = math.Min(1, math.Max(0, t/lenSq))
	}
	sum := 0.0
	for k := range p {
		d := ap[k] - t*ab[k]
		sum += d * d
	}
	return sum
}
