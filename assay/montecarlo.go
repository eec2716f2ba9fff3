package assay

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"crownassay/finishline"
	"crownassay/measure"
	"crownassay/mesh"
	"crownassay/reading"
	"crownassay/record"
)

// Draws is how a case is measured again on perturbed surfaces.
type Draws struct {
	Count    int    // of a block; at least LeastDraws, 0 for none
	Seed     uint64 // the same seed gives the same draws
	Adaptive bool   // further blocks until the results are stable

	// Progress is told after each draw; nil for none.
	Progress func(done, total int)
}

const (
	// LeastDraws is the fewest that show the middle 95 %: one in forty lies
	// beyond either end.
	LeastDraws = 40
	mostBlocks = 20 // of an adaptive run
)

// MonteCarlo measures the case again on surfaces that are perturbed by what the
// scanner may be off by (the noise found on the prepared surface, and the
// scanner's uncertainty as a smooth distortion), from finding the preparation
// on, and adds mean, standard deviation and the middle 95 % of each reading to
// the record: propagation of distributions (JCGM 101, 7), with a fixed number
// of draws or, adaptive, in blocks until twice the standard deviation of the
// mean of their results is below half of the last of one significant digit of
// the standard deviation (JCGM 101, 7.9). A draw in which nothing can be
// measured is counted.
func (m *Measured) MonteCarlo(ctx context.Context, d Draws) error {
	b := &record.Budget{Draws: d.Count, Seed: d.Seed, NoiseMM: m.site.LikelyNoise(), ScannerMM: m.c.Setting().Scanner()}
	m.Record.Budget = b
	if d.Count == 0 {
		return nil
	}
	if d.Count < LeastDraws {
		return fmt.Errorf("draw again %d times: too few to show the middle 95 %%; ask for at least %d, or 0 for none", d.Count, LeastDraws)
	}
	all := map[reading.ID][]float64{}
	var blocks []block
	p := perturbation{b.NoiseMM, b.ScannerMM}
	for len(blocks) == 0 || d.Adaptive && len(blocks) < mostBlocks && !stable(blocks) {
		one := map[reading.ID][]float64{}
		total := (len(blocks) + 1) * d.Count
		for i := total - d.Count; i < total; i++ {
			failed, err := m.draw(ctx, p, d.Seed, uint64(i), one)
			if err != nil {
				return err
			}
			if failed {
				b.Failed++
			}
			if d.Progress != nil {
				d.Progress(i+1, total)
			}
		}
		for id, v := range one {
			all[id] = append(all[id], v...)
		}
		blocks = append(blocks, summed(one))
	}
	b.Draws = len(blocks) * d.Count
	for i := range m.Record.Readings {
		q := &m.Record.Readings[i]
		if v := all[q.ID]; len(v) >= LeastDraws && q.Measured() {
			s := summary(v)
			q.MonteCarlo = &s
		}
	}
	return nil
}

// draw measures one draw and adds its values; failed says that nothing could be
// measured. A design is off with the scans it was made on, so that its readings
// are drawn with their noise alone.
func (m *Measured) draw(ctx context.Context, p perturbation, seed, i uint64, to map[reading.ID][]float64) (failed bool, err error) {
	if m.design == nil {
		return m.drawOnce(ctx, p.drawn(seed, i), to, func(reading.HoldPoint) bool { return true })
	}
	failed, err = m.drawOnce(ctx, p.drawn(seed, i), to, func(h reading.HoldPoint) bool { return h != reading.Design })
	if failed || err != nil {
		return failed, err
	}
	return m.drawOnce(ctx, perturbation{noise: p.noise}.drawn(seed, i), to, func(h reading.HoldPoint) bool { return h == reading.Design })
}

// drawOnce measures the case on perturbed surfaces and adds the values of the
// hold points that are wanted. It fails where they show no preparation, or no
// crown of it; what else goes wrong is an error.
func (m *Measured) drawOnce(ctx context.Context, perturb func(context.Context, Role, *mesh.Mesh) (*mesh.Mesh, error), to map[reading.ID][]float64, wanted func(reading.HoldPoint) bool) (failed bool, err error) {
	c := *m.c
	c.perturb = perturb
	r, err := Run(ctx, &c, Options{})
	var none *finishline.NotFoundError
	var other *measure.CrownError
	if errors.As(err, &none) || errors.As(err, &other) {
		return true, nil
	}
	if err != nil {
		return false, err
	}
	for i := range r.Readings {
		q := &r.Readings[i]
		if row, _ := reading.Find(q.ID); q.Measured() && wanted(row.HoldPoint) {
			to[q.ID] = append(to[q.ID], q.Value)
		}
	}
	return false, nil
}

// summary of values; the ends of the middle 95 % are those of JCGM 101, 7.7:
// with q = 0.95 M to the nearest whole number, the values in places (M - q)/2
// and (M - q)/2 + q of the sorted ones.
func summary(values []float64) reading.MonteCarlo {
	v := slices.Clone(values)
	slices.Sort(v)
	n := float64(len(v))
	s := reading.MonteCarlo{Draws: len(v)}
	for _, x := range v {
		s.Mean += x / n
	}
	for _, x := range v {
		s.Standard += (x - s.Mean) * (x - s.Mean) / (n - 1)
	}
	s.Standard = math.Sqrt(s.Standard)
	q := int(0.95*n + 0.5)
	low := max(1, int(math.Round((n-float64(q))/2)))
	s.Low, s.High = v[low-1], v[min(len(v), low+q)-1]
	return s
}

// block holds the results of one block of draws.
type block map[reading.ID]reading.MonteCarlo

func summed(one map[reading.ID][]float64) block {
	b := block{}
	for id, v := range one {
		if len(v) > 1 {
			b[id] = summary(v)
		}
	}
	return b
}

// stable reports whether the results of the blocks agree well enough.
func stable(blocks []block) bool {
	if len(blocks) < 2 {
		return false
	}
	for id, last := range blocks[len(blocks)-1] {
		tolerance := numericalTolerance(last.Standard)
		for _, of := range []func(reading.MonteCarlo) float64{
			func(s reading.MonteCarlo) float64 { return s.Mean }, func(s reading.MonteCarlo) float64 { return s.Standard },
			func(s reading.MonteCarlo) float64 { return s.Low }, func(s reading.MonteCarlo) float64 { return s.High },
		} {
			var v []float64
			for _, b := range blocks {
				if s, ok := b[id]; ok {
					v = append(v, of(s))
				}
			}
			if len(v) > 1 && 2*summary(v).Standard/math.Sqrt(float64(len(v))) > tolerance {
				return false
			}
		}
	}
	return true
}

// numericalTolerance is half of the last place of u to one significant digit
// (JCGM 101, 7.9.2): u = c 10^l with one digit c, half of 10^l.
func numericalTolerance(u float64) float64 {
	if u <= 0 {
		return math.Inf(1)
	}
	return 0.5 * math.Pow(10, math.Floor(math.Log10(u)))
}
