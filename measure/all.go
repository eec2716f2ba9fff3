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

// makeInTwo makes the readings of two kinds of groups side by side, those of
// one kind one after the other, and returns them in the order of the groups.
func makeInTwo(ctx context.Context, step func(name string), groups []group) ([]reading.Reading, error) {
	made := make([][]reading.Reading, len(groups))
	those := func(other bool) error {
		for i, g := range groups {
			if g.other != other {
				continue
			}
			if step != nil {
				step(g.name)
			}
			var err error
			if made[i], err = g.make(ctx); err != nil {
				return err
			}
		}
		return nil
	}
	err := par.Together(ctx, func() error { return those(false) }, func() error { return those(true) })
	return slices.Concat(made...), err
}

type group struct {
	name  string
	make  func(context.Context) ([]reading.Reading, error)
	other bool // keeps nothing that groups without this mark keep, nor the other way round
}

// groups lists the readings in the order of readings.
func (s *Site) groups() []group {
	plain := func(f func() []reading.Reading) func(context.Context) ([]reading.Reading, error) {
		return func(context.Context) ([]reading.Reading, error) { return f(), nil }
	}
	return []group{
		{name: "scan", make: plain(s.Scan)},
		{name: "bite", make: s.Bite},
		{name: "finish line", make: plain(s.FinishLine)},
		{name: "axial walls", make: plain(s.AxialWalls)},
		{name: "resistance", make: plain(s.Resistance)},
		{name: "line angles", make: plain(func() []reading.Reading { return []reading.Reading{s.lineAngle()} })},
		{name: "occlusal space", make: s.Occlusal},
		{name: "what is left", make: plain(later)},
	}
}

// later names the readings that are not made yet.
func later() []reading.Reading {
	return []reading.Reading{
		unmeasured("preparation.ferrule", "the border of a build-up cannot be marked yet"),
		unmeasured("finish_line.depth", "the gingival crest is not traced yet"),
	}
}
