package gauge

import (
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"gonum.org/v1/gonum/stat"

	"crownassay/spc"
)

// HistorySettings say how drift is looked for; zero fields are the defaults.
type HistorySettings struct {
	Lambda   float64   // default 0.2
	L        float64   // default 3
	Baseline int       // checks that give the center and the scatter; default 5
	Since    time.Time // checks before are left out, as after a service of the scanner
}

const (
	// driftLambda is the weight of the newest check: the e-Handbook recommends 0.2
	// to 0.3. The smaller, the slower drifts are found and the later a jump.
	driftLambda = 0.2
	// driftL is the width of the limits in standard deviations, as the e-Handbook
	// has it.
	driftL = 3.0
	// driftBaseline is the number of checks before there are limits: fewer do not
	// tell how much checks differ from one day to the next.
	driftBaseline = 5
	// leastBaseline is the least that may be asked for.
	leastBaseline = 3
)

// History is the mean errors of one dimension of one body by one scanner over
// time.
type History struct {
	Scanner   string  `json:"scanner"`
	Body      string  `json:"body"`
	Dimension string  `json:"dimension"`
	Unit      string  `json:"unit"`
	Center    float64 `json:"center"` // mean of the baseline
	Sigma     float64 `json:"sigma"`  // standard deviation of one check's mean error
	Baseline  int     `json:"baseline"`
	Points    []Point `json:"points"`
	Drifted   bool    `json:"drifted"` // the newest average lies outside its limits
}

// Point is one check.
type Point struct {
	Made    time.Time `json:"made"`
	Error   float64   `json:"error"`
	U       float64   `json:"uncertainty"`
	Scatter float64   `json:"repeatability"`
	Average *float64  `json:"average"` // null in the baseline
	Low     *float64  `json:"low"`
	High    *float64  `json:"high"`
	Out     bool      `json:"out"`
	repeats int
}

// Histories sorts checks, which are in the order they were made, into series and
// runs the moving average over each.
func Histories(all []*Result, set HistorySettings) ([]*History, error) {
	if set.Lambda == 0 {
		set.Lambda = driftLambda
	}
	if set.L == 0 {
		set.L = driftL
	}
	if set.Baseline == 0 {
		set.Baseline = driftBaseline
	}
	if !(set.Lambda > 0 && set.Lambda <= 1) || !(set.L > 0) || set.Baseline < leastBaseline {
		return nil, fmt.Errorf("look for drift: lambda %g, limit %g, baseline %d; lambda lies above 0 and up to 1, the limit above 0, and the baseline has %d checks or more", set.Lambda, set.L, set.Baseline, leastBaseline)
	}
	var out []*History
	find := map[[4]string]*History{}
	for _, r := range all {
		if r.Made.Before(set.Since) {
			continue
		}
		for _, d := range r.Dimensions {
			key := [4]string{r.Scanner, r.Body.String(), d.Name, fmt.Sprint(d.Unit)}
			h := find[key]
			if h == nil {
				h = &History{Scanner: r.Scanner, Body: r.Body.String(), Dimension: d.Name, Unit: d.Unit, Baseline: set.Baseline}
				find[key], out = h, append(out, h)
			}
			h.Points = append(h.Points, Point{Made: r.Made, Error: d.Trueness, U: d.TruenessU, Scatter: d.Scatter, repeats: d.DOF + 1})
		}
	}
	for _, h := range out {
		h.follow(set)
	}
	return out, nil
}

// follow takes the center from the baseline and runs the average over what
// comes after. The scatter of a check's mean error is that from one check to the
// next, of all checks before the one that is judged, at least what the repeats
// within them make: slow drift hardly widens it, and it grows surer with time.
// Source: J. von Neumann et al., The mean square successive difference, Annals
// of Mathematical Statistics 12 (1941) 153-162.
func (h *History) follow(set HistorySettings) {
	if len(h.Points) < set.Baseline {
		return
	}
	var values []float64
	for _, p := range h.Points {
		values = append(values, p.Error)
	}
	h.Center, h.Sigma = stat.Mean(values[:set.Baseline], nil), h.scatter(set.Baseline)
	for i, m := range (spc.Drift{Lambda: set.Lambda, L: set.L, Center: h.Center, Sigma: 1, Base: set.Baseline}).Follow(values[set.Baseline:]) {
		p := &h.Points[set.Baseline+i]
		h.Sigma = h.scatter(set.Baseline + i)
		wide := (m.High - h.Center) * h.Sigma
		m.Low, m.High = h.Center-wide, h.Center+wide
		p.Average, p.Low, p.High, p.Out = &m.Average, &m.Low, &m.High, m.Out()
		h.Drifted = m.Out()
	}
}

// scatter is the standard deviation of one check's mean error by the first n.
func (h *History) scatter(n int) float64 {
	steps, within := 0.0, 0.0
	for i, p := range h.Points[:n] {
		within += p.Scatter * p.Scatter / float64(p.repeats) / float64(n)
		if i > 0 {
			d := p.Error - h.Points[i-1].Error
			steps += d * d / 2 / float64(n-1)
		}
	}
	return math.Sqrt(math.Max(steps, within))
}

// WriteHistory writes the series as plain text.
func WriteHistory(w io.Writer, hs []*History) error {
	var b strings.Builder
	for i, h := range hs {
		if i > 0 {
			b.WriteByte('\n')
		}
		h.write(&b)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (h *History) write(b *strings.Builder) {
	by, unit := 1000.0, "um"
	if h.Unit == "deg" {
		by, unit = 1, "deg"
	}
	digits := map[string]int{"um": 1, "deg": 4}[unit]
	num := func(x float64) string { return fmt.Sprintf("%10.*f", digits, by*x) }
	name := h.Scanner
	if name == "" {
		name = "scanner"
	}
	fmt.Fprintf(b, "%s, %s: error of the %s, %s\n", name, h.Body, h.Dimension, unit)
	fmt.Fprintf(b, "%-18s%10s%10s%10s%10s%10s%10s\n", "made", "error", "+-", "s", "average", "low", "high")
	for _, p := range h.Points {
		fmt.Fprintf(b, "%-18s%s%s%s", p.Made.Format("2006-01-02 15:04"), num(p.Error), num(p.U), num(p.Scatter))
		if p.Average != nil {
			fmt.Fprintf(b, "%s%s%s", num(*p.Average), num(*p.Low), num(*p.High))
		}
		if p.Out {
			b.WriteString("  outside")
		}
		b.WriteByte('\n')
	}
	switch {
	case len(h.Points) <= h.Baseline:
		fmt.Fprintf(b, "Limits are drawn from check %d on, about the mean of the first %d.\n", h.Baseline+1, h.Baseline)
	case h.Drifted:
		fmt.Fprintf(b, "The scanner has drifted: the moving average has left its limits. Calibrate it as its maker says, check it again, and begin anew with --since.\n")
	default:
		fmt.Fprintf(b, "No drift: the moving average is within its limits.\n")
	}
}
