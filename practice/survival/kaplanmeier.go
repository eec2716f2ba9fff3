package survival

import (
	"math"

	"crownassay/spc"
)

// Step is a share from a time on, until the next step.
type Step struct {
	Time  float64 `json:"time"`
	Risk  int     `json:"risk" doc:"Under observation just before"`
	Lost  int     `json:"lost" doc:"At this time"`
	Share float64 `json:"share" doc:"After it"`
	SE    float64 `json:"se" doc:"Standard error of the share"`
	Low   float64 `json:"low" doc:"Of the 95 % interval"`
	High  float64 `json:"high"`
}

// KaplanMeier returns the share still in use after each time at which
// something was lost, losses of any cause taken together.
// Source: Kaplan & Meier 1958, J Am Stat Assoc 53:457; standard error after
// Greenwood; interval on the log(-log) scale (Kalbfleisch & Prentice), which
// stays between 0 and 1.
func KaplanMeier(subjects []Subject) ([]Step, error) {
	s, err := check(subjects)
	if err != nil {
		return nil, err
	}
	out := []Step{}
	share, sum := 1.0, 0.0
	for i := 0; i < len(s); {
		risk, lost, t := len(s)-i, 0, s[i].Time
		for ; i < len(s) && s[i].Time == t; i++ {
			if s[i].Cause != 0 {
				lost++
			}
		}
		if lost == 0 {
			continue
		}
		n, d := float64(risk), float64(lost)
		share *= 1 - d/n
		sum += d / (n * (n - d)) // infinite when all are lost
		p := Step{Time: t, Risk: risk, Lost: lost, Share: share}
		if share > 0 {
			p.SE = share * math.Sqrt(sum)
			p.Low, p.High = logLog(share, p.SE)
		}
		out = append(out, p)
	}
	return out, nil
}

// logLog is the 95 % interval of a share on the scale log(-log).
func logLog(share, se float64) (low, high float64) {
	if share <= 0 || share >= 1 {
		return share, share
	}
	l := math.Log(share)
	w := math.Exp(spc.Normal95 * se / (share * -l))
	return math.Exp(l * w), math.Exp(l / w)
}

// At returns the step that holds at a time. Before the first it is a share of
// start, 1 for what is in use and 0 for what is lost, with the interval of Wilson
// for none of those that were observed so long: the formula of the estimate
// would have it certain. Known reports whether any subject was observed for so
// long; past the end nothing is known.
func At(steps []Step, subjects []Subject, t, start float64) (p Step, known bool) {
	n := AtRisk(subjects, []float64{t})[0]
	p = Step{Share: start}
	p.Low, p.High = spc.Share(n*int(start), n)
	for _, s := range steps {
		if s.Time > t {
			break
		}
		p = s
	}
	p.Time, p.Risk = t, n
	return p, n > 0
}
