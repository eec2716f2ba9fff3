package visit

import (
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat/distuv"
)

// fewRuns is how many runs of a practice's own it takes until only they are
// named: the default then weighs less than a tenth.
const fewRuns = 10

// Source says what a learned figure rests on.
type Source string

// The three sources.
const (
	SourceDefault Source = "default" // no visit of the practice's own
	SourceFew     Source = "few"     // own visits and the default
	SourceOwn     Source = "own"     // own visits; the default hardly counts
)

func sourceOf(n int) Source {
	switch {
	case n == 0:
		return SourceDefault
	case n < fewRuns:
		return SourceFew
	}
	return SourceOwn
}

// key is what a duration is learned by.
type key struct {
	stage, material string // material only where the stage states some by it
	again           bool   // only where the stage states another time for it
}

// Duration is a learned duration.
type Duration struct {
	Stage    string  `json:"stage"`
	Title    string  `json:"title"`
	Material string  `json:"material"` // empty for all
	Again    bool    `json:"again"`    // after going back
	Own      int     `json:"own"`      // runs of the practice
	Median   float64 `json:"median"`   // of the next one, minutes
	Ninety   float64 `json:"ninety"`   // 90 % last no longer, minutes
	Source   Source  `json:"source"`
	Stated   Minutes `json:"stated"` // before own visits
	Status   string  `json:"status"` // of what is stated
}

// Chance is how likely a kind of going back is.
type Chance struct {
	Back   string  `json:"back"`
	Title  string  `json:"title"`
	At     string  `json:"at"`
	To     string  `json:"to"`
	Passed int     `json:"passed"` // times the practice could have gone back
	Went   int     `json:"went"`   // times it did
	Mean   float64 `json:"mean"`   // chance that it happens the next time
	Low    float64 `json:"low"`    // 5 % and 95 % of what the chance may be
	High   float64 `json:"high"`
	Source Source  `json:"source"`
	a, b   float64 // beta distribution of the chance
}

// LeftOut is a run that nothing is learned of.
type LeftOut struct {
	Visit   int64     `json:"visit"`
	Stage   string    `json:"stage"`
	From    time.Time `json:"from"`
	Minutes float64   `json:"minutes"`
	Why     string    `json:"why"`
}

// Learned is what the practice's visits say.
type Learned struct {
	plan    *Plan
	logs    map[key][]float64
	laws    map[key]*tabled
	Chances []Chance
	LeftOut []LeftOut
}

// Learn learns from the runs that have ended, those of open visits too.
func (p *Plan) Learn(visits []Visit) *Learned {
	l := &Learned{plan: p, logs: map[key][]float64{}, laws: map[key]*tabled{}}
	passed, went := make([]int, len(p.Backs)), make([]int, len(p.Backs))
	for i := range visits {
		v := &visits[i]
		runs := p.Following(v).Runs
		for _, r := range runs {
			l.add(v, r)
		}
		for j, b := range p.Backs {
			n, k := trials(runs, b)
			passed[j], went[j] = passed[j]+n, went[j]+k
		}
	}
	for j, b := range p.Backs {
		l.Chances = append(l.Chances, chance(b, passed[j], went[j]))
	}
	return l
}

func (l *Learned) add(v *Visit, r Run) {
	if r.To.IsZero() {
		return
	}
	if r.LeftOut != "" {
		l.LeftOut = append(l.LeftOut, LeftOut{v.ID, r.Stage, r.From, r.Minutes(), r.LeftOut})
		return
	}
	s, _ := l.plan.Stage(r.Stage)
	k := keyOf(s, v.Material, r.Again)
	l.logs[k] = append(l.logs[k], math.Log(r.Minutes()))
}

// trials counts how often a kind of going back could have happened in a visit,
// and did. It may be tapped later than at the end of its stage.
func trials(runs []Run, b Back) (n, k int) {
	for _, r := range runs {
		if r.Stage == b.At && !r.To.IsZero() {
			n++
		}
		if r.Back == b.Name {
			k++
		}
	}
	return max(n, k), k
}

// chance is the beta-binomial: the stated chance counts as its weight in
// visits, to which the practice's own are added.
func chance(b Back, n, k int) Chance {
	c := Chance{Back: b.Name, Title: b.Title, At: b.At, To: b.To, Passed: n, Went: k, Source: sourceOf(n),
		a: b.Chance*b.Weight + float64(k), b: (1-b.Chance)*b.Weight + float64(n-k)}
	d := distuv.Beta{Alpha: c.a, Beta: c.b}
	c.Mean, c.Low, c.High = d.Mean(), d.Quantile(0.05), d.Quantile(0.95)
	return c
}

func keyOf(s Stage, material string, again bool) key {
	k := key{stage: s.Name, again: again && s.Again != nil}
	if _, by := s.Materials[material]; by {
		k.material = material
	}
	return k
}

// statedFor is what the plan states for a key.
func statedFor(s Stage, k key) Minutes {
	if k.again {
		return *s.Again
	}
	return s.Of(k.material)
}

// law is the distribution of a stage's next duration.
func (l *Learned) law(s Stage, material string, again bool) *tabled {
	k := keyOf(s, material, again)
	if l.laws[k] == nil {
		m := statedFor(s, k)
		l.laws[k] = newTabled(newLogT(stated(m).after(l.logs[k]).next(), max(m.Longest, s.longest())))
	}
	return l.laws[k]
}

// Durations lists what is learned of every stage, in the order of the plan:
// for all materials, or for each that has a time of its own, and for passages
// after going back.
func (l *Learned) Durations() []Duration {
	var out []Duration
	for _, s := range l.plan.Stages {
		materials := []string{""}
		for m := range s.Materials {
			materials = append(materials, m)
		}
		slices.Sort(materials)
		if len(s.Only) > 0 && len(s.Materials) > 0 {
			materials = materials[1:]
		}
		for _, m := range materials {
			out = append(out, l.duration(s, m, false))
		}
		if s.Again != nil {
			out = append(out, l.duration(s, "", true))
		}
	}
	return out
}

func (l *Learned) duration(s Stage, material string, again bool) Duration {
	k := keyOf(s, material, again)
	law := l.law(s, material, again)
	return Duration{Stage: s.Name, Title: s.Title, Material: material, Again: again, Own: len(l.logs[k]),
		Median: law.logT.Quantile(0.5), Ninety: law.logT.Quantile(0.9), Source: sourceOf(len(l.logs[k])), Stated: statedFor(s, k), Status: s.Status}
}
