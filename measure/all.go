package measure

import (
	"context"
	"slices"

	"crownassay/internal/par"
	"crownassay/reading"
)

// Preparation makes every reading of the hold point preparation. Step is told
// before each group, from several goroutines; it may be nil.
func (s *Site) Preparation(ctx context.Context, step func(name string)) ([]reading.Reading, error) {
	return makeTogether(ctx, step, s.groups())
}

// makeTogether makes the readings of groups that do not depend on one another
// side by side and returns them in the order of the groups.
func makeTogether(ctx context.Context, step func(name string), groups []group) ([]reading.Reading, error) {
	made := make([][]reading.Reading, len(groups))
	each := make([]func() error, len(groups))
	for i, g := range groups {
		each[i] = func() (err error) {
			if step != nil {
				step(g.name)
			}
			made[i], err = g.make(ctx)
			return err
		}
	}
	err := par.Together(ctx, each...)
	return slices.Concat(made...), err
}

// makeAll makes the readings of the groups in their order.
func makeAll(ctx context.Context, step func(name string), groups []group) ([]reading.Reading, error) {
	var out []reading.Reading
	say := func(name string) error {
		if step != nil {
			step(name)
		}
		return ctx.Err()
	}
	for _, g := range groups {
		if err := say(g.name); err != nil {
			return nil, err
		}
		r, err := g.make(ctx)
		if err != nil {
			return nil, err
		}
		out = append(out, r...)
	}
	return out, nil
}

type group struct {
	name string
	make func(context.Context) ([]reading.Reading, error)
}

// groups lists the readings in the order of readings.
func (s *Site) groups() []group {
	plain := func(f func() []reading.Reading) func(context.Context) ([]reading.Reading, error) {
		return func(context.Context) ([]reading.Reading, error) { return f(), nil }
	}
	return []group{
		{"scan", plain(s.Scan)},
		{"bite", s.Bite},
		{"finish line", plain(s.FinishLine)},
		{"axial walls", plain(s.AxialWalls)},
		{"resistance", plain(s.Resistance)},
		{"line angles", plain(func() []reading.Reading { return []reading.Reading{s.lineAngle()} })},
		{"occlusal space", s.Occlusal},
		{"what is left", plain(later)},
	}
}

// later names the readings that are not made yet.
func later() []reading.Reading {
	return []reading.Reading{
		unmeasured("preparation.ferrule", "the border of a build-up cannot be marked yet"),
		unmeasured("finish_line.depth", "the gingival crest is not traced yet"),
	}
}
