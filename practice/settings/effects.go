package settings

import (
	"slices"

	"gonum.org/v1/gonum/stat"
)

// Effect is how much tighter contacts of one name are felt, as the tightness
// that would do the same.
type Effect struct {
	What     string  `json:"what" doc:"Side, jaw, material, tool or block"`
	Name     string  `json:"name"`
	Contacts int     `json:"contacts"`
	MM       float64 `json:"mm" doc:"Felt tighter than the others by this"`
	Low      float64 `json:"low" doc:"Of its 95 % interval"`
	High     float64 `json:"high" doc:"Of its 95 % interval"`
}

// Effects lists what makes contacts tighter or looser at the same design: side
// distal against mesial, jaw upper against lower, each other against the mean
// of its kind.
func (m *Model) Effects() []Effect {
	n := func(of func(Contact) bool) (k int) {
		for _, c := range m.contacts {
			if of(c) {
				k++
			}
		}
		return k
	}
	if m.sure() < sureSlope {
		return []Effect{} // the slope may be nothing, so nothing can be said in millimetres
	}
	out := []Effect{}
	add := func(what, name string, k, column int) {
		v := make([]float64, len(m.draws))
		for i, p := range m.draws {
			v[i] = p[int(levels)-1+column] / m.slope(p) * unitMM
		}
		slices.Sort(v)
		e := Effect{What: what, Name: name, Contacts: k, MM: stat.Quantile(0.5, stat.Empirical, v, nil)}
		e.Low, e.High = middle(v)
		out = append(out, e)
	}
	if k := n(func(c Contact) bool { return c.Distal }); k > 0 && k < len(m.contacts) {
		add("side", "distal", k, sideColumn)
	}
	if k := n(func(c Contact) bool { return c.Upper }); k > 0 && k < len(m.contacts) {
		add("jaw", "upper", k, jawColumn)
	}
	for _, k := range m.kinds {
		for i, name := range k.names {
			add(k.what, name, n(func(c Contact) bool { return k.of(c) == name }), k.first+i)
		}
	}
	return out
}
