package settings

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat"
)

// Where says which contact is asked about. What is left out is taken as the
// middle of both, or as a material that is not known.
type Where struct {
	Side     string `json:"side" doc:"Mesial or distal"`
	Jaw      string `json:"jaw" doc:"Upper or lower"`
	Material string `json:"material"`
}

// What has to be there before there is advice. These are our own, so that what
// is said would not change much with the next few crowns.
const (
	leastContacts = 30     // contacts whose tightness is known
	leastSpread   = 0.01   // of designs between the 5th and 95th percentile, mm
	sureSlope     = 0.975  // share of the posterior in which a tighter design is felt tighter
	widest        = 0.06   // of the interval of the best design, mm
	gridStep      = 0.0025 // between the designs that are compared, mm: a tenth of a usual interval
	lotNodes      = 7      // nodes of the Gauss-Hermite rule over lots that are not known yet
)

// Reason is why there is no advice yet.
type Reason string

// The reasons.
const (
	FewContacts Reason = "contacts" // fewer than Advice.Wanted
	OneLevel    Reason = "level"    // all were felt alike
	OneDesign   Reason = "design"   // all were designed alike
	NoSlope     Reason = "slope"    // a tighter design was not felt tighter
	TooWide     Reason = "wide"     // the interval is too wide to be of use
)

// Advice is the design with the lowest expected loss.
type Advice struct {
	Contacts int         `json:"contacts"`
	Wanted   int         `json:"wanted" doc:"Contacts there should be at least"`
	Counts   [levels]int `json:"counts" nullable:"false"`
	Not      []Reason    `json:"not" doc:"Why it should not be followed yet; none when it can" nullable:"false"`
	Best     float64     `json:"best" doc:"Tightness, mm"`
	Low      float64     `json:"low" doc:"Of the 95 % interval of Best"`
	High     float64     `json:"high" doc:"Of the 95 % interval of Best"`
	Edge     bool        `json:"edge" doc:"Best is at the end of what was tried"`
	Curve    []Expected  `json:"curve" doc:"Over what was tried" nullable:"false"`
}

// Expected is what is expected at a tightness.
type Expected struct {
	Tightness float64         `json:"tightness"`
	Share     [levels]float64 `json:"share" doc:"Of contacts felt so" nullable:"false"`
	Loss      float64         `json:"loss"`
	Low       float64         `json:"low" doc:"Of the 95 % interval of Loss"`
	High      float64         `json:"high" doc:"Of the 95 % interval of Loss"`
}

// Advise finds the design with the lowest expected loss within what was tried;
// beyond that it says nothing.
func (m *Model) Advise(w Where, loss Losses) *Advice {
	a := &Advice{Contacts: len(m.contacts), Wanted: leastContacts}
	for _, c := range m.contacts {
		a.Counts[c.Felt]++
	}
	grid := m.grid()
	sums := make([]Expected, len(grid))
	each := make([][]float64, len(grid)) // loss by draw
	best := make([]float64, 0, len(m.draws))
	at := m.shares(w)
	for _, p := range m.draws {
		low := 0
		for i, x := range grid {
			s := at(p, x)
			l := 0.0
			for k, v := range s {
				sums[i].Share[k] += v / float64(len(m.draws))
				l += v * loss[k]
			}
			each[i] = append(each[i], l)
			if l < each[low][len(each[low])-1] {
				low = i
			}
		}
		best = append(best, grid[low])
	}
	low := 0
	for i, x := range grid {
		q := &sums[i]
		q.Tightness, q.Loss = x, stat.Mean(each[i], nil)
		q.Low, q.High = middle(each[i])
		if q.Loss < sums[low].Loss {
			low = i
		}
	}
	a.Curve, a.Best = sums, grid[low]
	a.Low, a.High = middle(best)
	a.Edge = low == 0 || low == len(grid)-1
	a.Not = m.not(a)
	return a
}

// not lists why advice should not be followed yet.
func (m *Model) not(a *Advice) []Reason {
	why := []Reason{}
	if a.Contacts < leastContacts {
		why = append(why, FewContacts)
	}
	if slices.Max(a.Counts[:]) == a.Contacts {
		why = append(why, OneLevel)
	}
	var x []float64
	for _, c := range m.contacts {
		x = append(x, c.Tightness)
	}
	slices.Sort(x)
	if spread := stat.Quantile(0.95, stat.Empirical, x, nil) - stat.Quantile(0.05, stat.Empirical, x, nil); spread < leastSpread {
		why = append(why, OneDesign)
	}
	if m.sure() < sureSlope {
		why = append(why, NoSlope)
	}
	if a.High-a.Low > widest {
		why = append(why, TooWide)
	}
	return why
}

// sure is the share of the posterior in which tighter is felt tighter.
func (m *Model) sure() float64 {
	n := 0
	for _, p := range m.draws {
		if m.slope(p) > 0 {
			n++
		}
	}
	return float64(n) / float64(len(m.draws))
}

// grid covers what was tried.
func (m *Model) grid() []float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for _, c := range m.contacts {
		low, high = min(low, c.Tightness), max(high, c.Tightness)
	}
	n := int(math.Round((high-low)/gridStep)) + 1
	out := make([]float64, n)
	for i := range out {
		out[i] = low + float64(i)*gridStep
	}
	return out
}

// middle is the middle 95 %.
func middle(v []float64) (low, high float64) {
	s := slices.Clone(v)
	slices.Sort(s)
	return stat.Quantile(0.025, stat.Empirical, s, nil), stat.Quantile(0.975, stat.Empirical, s, nil)
}

// shares returns how often a contact is felt in each way, by a draw of the
// posterior and a tightness. Effects that are not known, of the next tool or
// block, are averaged over their prior.
func (m *Model) shares(w Where) func(p []float64, x float64) [levels]float64 {
	fixed := []figure{{sideColumn, either(w.Side, "distal", "mesial")}, {jawColumn, either(w.Jaw, "upper", "lower")}}
	unknown := 0.0
	for _, k := range m.kinds {
		i, ok := slices.BinarySearch(k.names, w.Material)
		if k.what == "material" && ok {
			fixed = append(fixed, figure{k.first + i, 1})
			continue
		}
		unknown += k.sd * k.sd
	}
	nodes, weights := []float64{0}, []float64{1}
	if unknown > 0 {
		nodes, weights = make([]float64, lotNodes), make([]float64, lotNodes)
		quad.Hermite{}.FixedLocations(nodes, weights, math.Inf(-1), math.Inf(1))
		for i, x := range nodes { // the rule weighs with exp(-x^2)
			weights[i] /= math.Sqrt(math.Pi)
			nodes[i] = x * math.Sqrt(2*unknown)
		}
	}
	cuts := int(levels) - 1
	return func(p []float64, x float64) (out [levels]float64) {
		eta := m.slope(p) * (x - m.center) / unitMM
		for _, f := range fixed {
			eta += f.Value * p[cuts+f.Column]
		}
		for j, n := range nodes {
			below := 0.0
			for k := range cuts {
				b := logistic(p[k] - eta - n)
				out[k] += weights[j] * (b - below)
				below = b
			}
			out[cuts] += weights[j] * (1 - below)
		}
		return out
	}
}

// either codes a word as half does, and as 0 when it is neither.
func either(s, yes, no string) float64 {
	switch s {
	case yes:
		return 0.5
	case no:
		return -0.5
	}
	return 0
}
