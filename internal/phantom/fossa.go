package phantom

import (
	"context"
	"fmt"
	"math"
)

// The hollow that thins the middle of the chewing surface, mm, the share of
// the way from the pole that it is looked for in, and how near its robust
// minimum must come, mm.
const (
	fossaHalf    = 1.3
	fossaWay     = 0.16
	fossaResidue = 2e-5
)

// hollow deepens the middle of the chewing surface until the robust minimum of
// the thickness there is what was asked, by secants.
func (r *restoration) hollow(ctx context.Context) error {
	want := r.spec.Fossa
	if want == 0 {
		return nil
	}
	cavity := newCloud(r.in, surfaceTurns, surfaceSteps)
	m := &r.out.mounds[r.out.raise(Hill{Height: 1, Half: fossaHalf})]
	r0, d0, d := math.NaN(), 0.0, 0.0
	for range 30 {
		var err error
		if d, err = r.middle(ctx, cavity); err != nil || math.Abs(d-want) < fossaResidue {
			return err
		}
		slope := (d - d0) / (m.rise - r0)
		if !(slope > 0.05) {
			slope = 1
		}
		r0, d0 = m.rise, d
		m.rise += math.Max(-0.6, math.Min(0.6, (want-d)/slope))
	}
	return fmt.Errorf("invent crown: no hollow leaves %g mm in the middle; it stays at %g", want, d)
}

// middle is the robust minimum of the thickness about the pole.
func (r *restoration) middle(ctx context.Context, cavity *cloud) (float64, error) {
	probes, _, err := sampled(ctx, part{r.out, fossaWay * r.out.runs}, 120, 100)
	if err == nil {
		err = cavity.measure(ctx, probes, 1)
	}
	if err != nil {
		return 0, err
	}
	v, _ := robustMin(probes, func(int) bool { return true })
	return v, nil
}
