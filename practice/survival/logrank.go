package survival

import (
	"errors"
	"fmt"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Difference is a comparison of groups.
type Difference struct {
	Observed []float64 `json:"observed" doc:"Losses of each group" nullable:"false"`
	Expected []float64 `json:"expected" doc:"Losses of each group if there were no difference" nullable:"false"`
	ChiSq    float64   `json:"chi_sq"`
	Freedom  int       `json:"freedom"`
	P        float64   `json:"p" doc:"How often chance alone gives as much"`
}

// ErrIncomparable says that there is too little to compare groups.
var ErrIncomparable = errors.New("groups that cannot be compared")

// LogRank compares the losses of groups, of any cause.
// Source: Mantel 1966, Cancer Chemother Rep 50:163; Peto & Peto 1972, J R Stat
// Soc A 135:185.
func LogRank(groups [][]Subject) (Difference, error) {
	var d Difference
	k := len(groups)
	var times []float64
	for _, g := range groups {
		s, err := check(g)
		if err != nil {
			return d, err
		}
		if len(s) == 0 {
			return d, fmt.Errorf("%w: one of them is empty", ErrIncomparable)
		}
		for _, x := range s {
			if x.Cause != 0 {
				times = append(times, x.Time)
			}
		}
	}
	if k < 2 || len(times) == 0 {
		return d, fmt.Errorf("%w: it takes two groups and at least one loss", ErrIncomparable)
	}
	slices.Sort(times)
	d.Observed, d.Expected = make([]float64, k), make([]float64, k)
	v := mat.NewSymDense(k-1, nil)
	for _, t := range slices.Compact(times) {
		d.add(groups, t, v)
	}
	u := mat.NewVecDense(k-1, nil)
	for i := range k - 1 {
		u.SetVec(i, d.Observed[i]-d.Expected[i])
	}
	var c mat.Cholesky
	if !c.Factorize(v) {
		return d, fmt.Errorf("%w: they are not under observation at the same time", ErrIncomparable)
	}
	x := mat.NewVecDense(k-1, nil)
	if err := c.SolveVecTo(x, u); err != nil {
		return d, err
	}
	d.ChiSq, d.Freedom = mat.Dot(u, x), k-1
	d.P = distuv.ChiSquared{K: float64(d.Freedom)}.Survival(d.ChiSq)
	return d, nil
}

// add counts the losses at a time, with their variance if there were no
// difference (hypergeometric).
func (d *Difference) add(groups [][]Subject, t float64, v *mat.SymDense) {
	n := make([]float64, len(groups))
	var all, lost float64
	for i, g := range groups {
		for _, s := range g {
			if s.Time >= t {
				n[i]++
			}
			if s.Time == t && s.Cause != 0 {
				d.Observed[i]++
				lost++
			}
		}
		all += n[i]
	}
	for i := range groups {
		d.Expected[i] += lost * n[i] / all
	}
	if all < 2 {
		return
	}
	w := lost * (all - lost) / (all - 1) / all
	for i := range v.SymmetricDim() {
		for j := i; j < v.SymmetricDim(); j++ {
			c := -n[i] * n[j] / all * w
			if i == j {
				c += n[i] * w
			}
			v.SetSym(i, j, v.At(i, j)+c)
		}
	}
}
