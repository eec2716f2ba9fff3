package finishline

import "math"

// Bend returns the convex bend of the profile at sample i in 1/mm, the
// least-squares slope of its direction over half samples to either side, and
// the degrees it turns by over them.
func (p *Profile) Bend(i, half int) (bend, turned float64) {
	if i-half < 1 || i+half >= p.Len() {
		return 0, 0
	}
	var st, sst, ss float64
	at := func(j int) float64 { return math.Atan2(p.Z[j]-p.Z[j-1], p.R[j]-p.R[j-1]) }
	base := at(i)
	for d := -half + 1; d <= half; d++ {
		x := (float64(d) - 0.5) * Step
		t := math.Remainder(at(i+d)-base, 2*math.Pi)
		st, sst, ss = st+t, sst+x*t, ss+x*x
	}
	b := -sst / ss
	return b, b * 2 * float64(half) * Step * 180 / math.Pi
}
