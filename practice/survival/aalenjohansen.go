package survival

import "math"

// AalenJohansen returns the share lost by one cause after each time, when a
// crown that is lost by another can no longer be lost by this one. The shares
// of all causes and the share still in use add up to 1.
// Source: Aalen & Johansen 1978, Scand J Stat 5:141; standard error by the
// infinitesimal jackknife, as the survival package of R has it (Therneau), and
// the interval on the log(-log) scale.
func AalenJohansen(subjects []Subject, cause int) ([]Step, error) {
	s, err := check(subjects)
	if err != nil {
		return nil, err
	}
	j := newJackknife(len(s))
	out := []Step{}
	for i := 0; i < len(s); {
		first, t, any, own := i, s[i].Time, 0, 0
		for ; i < len(s) && s[i].Time == t; i++ {
			if s[i].Cause != 0 {
				any++
			}
			if s[i].Cause == cause {
				own++
			}
		}
		if any == 0 {
			continue
		}
		j.step(s, first, i, cause, any, own)
		if own == 0 || cause == 0 {
			continue
		}
		p := Step{Time: t, Risk: len(s) - first, Lost: own, Share: j.lost, SE: j.se()}
		p.Low, p.High = logLog(p.Share, p.SE)
		out = append(out, p)
	}
	return out, nil
}

// jackknife carries the shares in use and lost by the cause, and how each
// would change with the weight of each subject.
type jackknife struct {
	inUse, lost   float64
	dInUse, dLost []float64
}

func newJackknife(n int) *jackknife {
	return &jackknife{inUse: 1, dInUse: make([]float64, n), dLost: make([]float64, n)}
}

// step goes over the time of the subjects first to end, of which any are lost,
// own of them by the cause. Those from first on are at risk.
func (j *jackknife) step(s []Subject, first, end, cause, any, own int) {
	n := float64(len(s) - first)
	hAny, hOwn := float64(any)/n, float64(own)/n
	for i := range s {
		var dAny, dOwn float64
		if i >= first {
			dAny, dOwn = -hAny/n, -hOwn/n
		}
		if i >= first && i < end && s[i].Cause != 0 {
			dAny += 1 / n
			if s[i].Cause == cause {
				dOwn += 1 / n
			}
		}
		j.dLost[i] += j.dInUse[i]*hOwn + j.inUse*dOwn
		j.dInUse[i] = j.dInUse[i]*(1-hAny) - j.inUse*dAny
	}
	j.lost += j.inUse * hOwn
	j.inUse *= 1 - hAny
}

func (j *jackknife) se() float64 {
	sum := 0.0
	for _, d := range j.dLost {
		sum += d * d
	}
	return math.Sqrt(sum)
}
