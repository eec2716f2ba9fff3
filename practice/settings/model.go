package settings

import (
	"context"
	"errors"
	"math"
	"slices"
)

// The priors, on the logit scale. A felt contact changes by one word within
// some tens of micrometres, which is a slope of a few tenths for each 10 um;
// the priors leave room for ten times that either way. They are our own.
const (
	unitMM     = 0.01 // a slope is for this much tightness, mm
	slopeSD    = 2.0
	cutSD      = 5.0
	widthScale = 2.0 // scale of a level's width: its mean is twice that
	sideSD     = 1.0 // mesial against distal
	jawSD      = 1.0 // lower against upper
	matSD      = 1.0 // one material against their mean
)

// lotSDs are how much tools, and block lots, may differ from their mean,
// logits. Of these the contacts choose, for tools and blocks each (empirical
// Bayes, by the marginal likelihood after Laplace).
var lotSDs = []float64{0.1, 0.3, 0.6, 1, 1.7, 3}

// Model is the posterior of how contacts are felt.
type Model struct {
	contacts []Contact
	center   float64 // mean tightness, mm
	kinds    []kind
	draws    [][]float64
}

// kind is one kind of effect with a column for each of its names.
type kind struct {
	what  string
	names []string
	first int // column
	sd    float64
	of    func(Contact) string
}

// Columns that are always there.
const (
	slopeColumn = iota
	sideColumn
	jawColumn
	firstName
)

// Fit draws from the posterior given contacts, with the tools and block lots
// as effects of their own where lots is true.
func Fit(ctx context.Context, contacts []Contact, lots bool, seed uint64) (*Model, error) {
	if err := checkContacts(contacts); err != nil {
		return nil, err
	}
	if len(contacts) == 0 {
		return nil, errors.New("fit contacts: there are none")
	}
	m := &Model{contacts: slices.Clone(contacts)}
	for _, c := range contacts {
		m.center += c.Tightness / float64(len(contacts))
	}
	m.add("material", matSD, func(c Contact) string { return c.Material })
	if lots {
		m.add("tool", lotSDs[0], func(c Contact) string { return c.Tool })
		m.add("block", lotSDs[0], func(c Contact) string { return c.Block })
	}
	t, err := m.choose(ctx)
	if err != nil {
		return nil, err
	}
	m.draws, err = sample(ctx, m.density(), t, seed)
	return m, err
}

// choose sets how much tools and block lots differ, and returns the top of the
// posterior with that.
func (m *Model) choose(ctx context.Context) (*top, error) {
	f := m.density()
	best, err := maximize(f, f.start())
	if err != nil {
		return nil, err
	}
	for i := range m.kinds {
		k := &m.kinds[i]
		if k.what == "material" {
			continue
		}
		most, sd := best.evidence()-float64(len(k.names))*math.Log(k.sd), k.sd
		for _, s := range lotSDs[1:] {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			k.sd = s
			t, err := maximize(m.density(), best.P)
			if err != nil {
				return nil, err
			}
			if e := t.evidence() - float64(len(k.names))*math.Log(s); e > most {
				most, sd, best = e, s, t
			}
		}
		k.sd = sd
	}
	return best, nil
}

// add adds a kind of effect where there are two names or more: of one alone
// nothing can be told from the cuts.
func (m *Model) add(what string, sd float64, of func(Contact) string) {
	n := names(m.contacts, of)
	if len(n) < 2 {
		return
	}
	m.kinds = append(m.kinds, kind{what, n, m.columns(), sd, of})
}

func (m *Model) columns() int {
	if len(m.kinds) == 0 {
		return firstName
	}
	k := m.kinds[len(m.kinds)-1]
	return k.first + len(k.names)
}

// density is the posterior's density.
func (m *Model) density() *posterior {
	f := &posterior{odds: odds{Levels: int(levels), Columns: m.columns()}, CutSD: cutSD, Width: widthScale, SlopeSD: []float64{slopeSD, sideSD, jawSD}}
	for _, k := range m.kinds {
		for range k.names {
			f.SlopeSD = append(f.SlopeSD, k.sd)
		}
	}
	for _, c := range m.contacts {
		x := []figure{{slopeColumn, (c.Tightness - m.center) / unitMM}, {sideColumn, half(c.Distal)}, {jawColumn, half(c.Upper)}}
		for _, k := range m.kinds {
			if i, ok := slices.BinarySearch(k.names, k.of(c)); ok {
				x = append(x, figure{k.first + i, 1})
			}
		}
		f.Y, f.X = append(f.Y, int(c.Felt)), append(f.X, x)
	}
	return f
}

// half is the coding of what is one or the other.
func half(yes bool) float64 {
	if yes {
		return 0.5
	}
	return -0.5
}

// Draws is how many draws the posterior is known by.
func (m *Model) Draws() int { return len(m.draws) }

// slope is the slope of a draw, per unitMM.
func (m *Model) slope(p []float64) float64 { return p[levels-1+slopeColumn] }
