package assay

import (
	"context"
	"errors"

	"crownassay/align"
	"crownassay/measure"
)

// seated measures how the crown sits in the scan of the arch with it on, by
// the crown as made or, without it, as designed.
func (r *crownRun) seated(ctx context.Context, crown *measure.Crown) error {
	l := r.ls[Seated]
	if l == nil {
		return nil
	}
	r.say("the seated crown")
	if crown == nil {
		r.out = append(r.out, measure.NoSeated("neither the crown as designed nor as made is given to compare with")...)
		return nil
	}
	err := l.register(ctx, r.site.Prepared.Tree, align.Options{FixedWeight: besideWeights(r.site.Prepared.Mesh, r.site.Found)})
	var no *align.RefusedError
	if errors.As(err, &no) {
		r.out = append(r.out, measure.NoSeated("the scan with the crown on could not be registered on the neighbouring teeth: "+no.Error())...)
		return nil
	}
	if err != nil {
		return err
	}
	rs, err := crown.Seated(ctx, l.surface(), l.registration)
	r.out = append(r.out, rs...)
	return err
}
