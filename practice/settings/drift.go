package settings

import (
	"cmp"
	"context"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"crownassay/spc"
)

// How drift is looked for. With these, contacts that do not change cross the
// limits once in some thousands; a lot of blocks that comes out 30 um tighter is
// seen within its 25 contacts. The tests of drift hold both.
const (
	driftLambda = 0.1  // weight of the newest contact
	driftL      = 3.8  // width of the limits in standard deviations
	leastNamed  = 8    // contacts of a tool or block lot before it is named
	sureNamed   = 0.01 // chance that a name is given by chance alone, all names together
)

// Drift follows how contacts were felt against what their design let expect.
type Drift struct {
	Points []Followed `json:"points" doc:"In the order of time" nullable:"false"`
	Out    int        `json:"out" doc:"Index of the first point outside the limits; -1 for none"`
	Since  int        `json:"since" doc:"Index at which what led there began; -1 for none"`
	With   *Coincides `json:"with" doc:"The tool or block lot whose contacts differ most, also where the limits hold; nil for none that does for sure"`
}

// Followed is a contact against what was expected of it: 0 as expected, above
// zero tighter, in standard deviations.
type Followed struct {
	Date     time.Time `json:"date"`
	Surprise float64   `json:"surprise"`
	Average  float64   `json:"average"`
	Low      float64   `json:"low" doc:"Limits of Average"`
	High     float64   `json:"high" doc:"Limits of Average"`
}

// Coincides is a tool or block lot.
type Coincides struct {
	What     string  `json:"what" doc:"Tool or block"`
	Name     string  `json:"name"`
	Contacts int     `json:"contacts"`
	Surprise float64 `json:"surprise" doc:"Mean of its contacts"`
}

// FollowDrift looks whether contacts have become tighter or looser over time at
// the same design. The model knows no tools and lots here, so what they change
// is seen.
// Source: the surprise is the probability-scale residual of Li & Shepherd 2012,
// Biometrika 99:473, over its standard deviation; the average Roberts 1959,
// Technometrics 1:239.
func FollowDrift(ctx context.Context, contacts []Contact, seed uint64) (*Drift, error) {
	contacts = slices.Clone(contacts)
	slices.SortStableFunc(contacts, func(a, b Contact) int { return a.Date.Compare(b.Date) })
	m, err := Fit(ctx, contacts, false, seed)
	if err != nil {
		return nil, err
	}
	z := m.surprises()
	d := &Drift{Out: -1, Since: -1, With: coincides(contacts, z)}
	for i, p := range (spc.Drift{Lambda: driftLambda, L: driftL, Sigma: 1}).Follow(z) {
		d.Points = append(d.Points, Followed{contacts[i].Date, z[i], p.Average, p.Low, p.High})
		if p.Out() && d.Out < 0 {
			d.Out = i
		}
	}
	if d.Out < 0 {
		return d, nil
	}
	for d.Since = d.Out; d.Since > 0 && d.Points[d.Since-1].Average*d.Points[d.Out].Average > 0; {
		d.Since--
	}
	return d, nil
}

// surprises are the residuals of the contacts.
func (m *Model) surprises() []float64 {
	f := m.density()
	shares := make([][levels]float64, len(m.contacts))
	for _, p := range m.draws {
		for i := range shares {
			eta, below := f.eta(i, p), 0.0
			for k := range int(levels) - 1 {
				b := logistic(p[k] - eta)
				shares[i][k] += (b - below) / float64(len(m.draws))
				below = b
			}
			shares[i][levels-1] += (1 - below) / float64(len(m.draws))
		}
	}
	out := make([]float64, len(shares))
	for i, s := range shares {
		below, sq, own := 0.0, 0.0, 0.0
		for k, p := range s {
			r := below - (1 - below - p) // chance of looser less chance of tighter
			sq += p * r * r
			if Level(k) == m.contacts[i].Felt {
				own = r
			}
			below += p
		}
		out[i] = own / math.Sqrt(sq)
	}
	return out
}

// coincides finds the tool or block lot whose contacts differ most from what
// was expected, where chance alone hardly explains it.
func coincides(contacts []Contact, z []float64) *Coincides {
	var all []Coincides
	for _, k := range []kind{{what: "tool", of: func(c Contact) string { return c.Tool }}, {what: "block", of: func(c Contact) string { return c.Block }}} {
		for _, name := range names(contacts, k.of) {
			c := Coincides{What: k.what, Name: name}
			for i := range contacts {
				if k.of(contacts[i]) == name {
					c.Contacts++
					c.Surprise += z[i]
				}
			}
			if c.Contacts >= leastNamed {
				c.Surprise /= float64(c.Contacts)
				all = append(all, c)
			}
		}
	}
	if len(all) == 0 {
		return nil
	}
	score := func(c Coincides) float64 { return math.Abs(c.Surprise) * math.Sqrt(float64(c.Contacts)) }
	most := slices.MaxFunc(all, func(a, b Coincides) int { return cmp.Compare(score(a), score(b)) })
	if score(most) < distuv.UnitNormal.Quantile(1-sureNamed/float64(2*len(all))) {
		return nil
	}
	return &most
}
