package measure

import (
	"cmp"
	"math"
	"slices"

	"crownassay/finishline"
	"crownassay/reading"
)

// leastArea is the area, mm^2, that goes below a robust minimum of a surface
// (definition).
const leastArea = 0.05

// sample is a value with the area it stands for.
type sample struct {
	value, area float64
	i           int // what it was taken at
}

// robustMin returns the sample below which leastArea of the surface lies; ok
// is false for less surface than that.
func robustMin(s []sample) (sample, bool) { return areaBelow(lowOf(s), leastArea) }

// lowSpread is how many samples tell how low the lowest are, and lowShares how
// many of those are taken for it, one after the other.
const lowSpread = 512

var lowShares = []int{8, 32, 128}

// lowOf returns a copy of the samples that may go below a robust minimum: those
// up to a value below which there is area enough, or all.
func lowOf(s []sample) []sample {
	if len(s) < 4*lowSpread {
		return slices.Clone(s)
	}
	values := make([]float64, lowSpread)
	for i := range values {
		values[i] = s[i*(len(s)/lowSpread)].value
	}
	slices.Sort(values)
	for _, k := range lowShares {
		var out []sample
		for _, x := range s {
			if !(x.value > values[k]) {
				out = append(out, x)
			}
		}
		if area(out) > leastArea {
			return out
		}
	}
	return slices.Clone(s)
}

// areaBelow returns the sample below which the given area of the surface lies,
// and sorts the samples; ok is false for less surface than that.
func areaBelow(s []sample, area float64) (sample, bool) {
	slices.SortFunc(s, func(a, b sample) int {
		if c := cmp.Compare(a.value, b.value); c != 0 {
			return c
		}
		return cmp.Compare(a.i, b.i)
	})
	sum := 0.0
	for _, x := range s {
		if sum += x.area; sum >= area {
			return x, true
		}
	}
	return sample{}, false
}

// median3 is the median over three neighbouring sections around the circle;
// NaN where fewer than two of them have a value.
func median3(v []float64) []float64 { return medianAround(v, 1) }

// evenPerNoise is how many sections to either side a profile that follows the
// finish line is averaged over for each mm of noise, before its extreme is
// taken: without noise none, so that nothing real is lost.
const evenPerNoise = 800

// quieted is a profile from which the scan's noise is averaged out, so that
// its extreme is not that of the noise.
func (s *Site) quieted(v []float64) []float64 {
	half := int(math.Round(evenPerNoise * s.known()))
	if half == 0 {
		return median3(v)
	}
	out := make([]float64, len(v))
	for k := range v {
		out[k] = math.NaN()
		sum, n := 0.0, 0
		for d := -half; d <= half; d++ {
			if x := v[wrap(k+d)]; !math.IsNaN(x) {
				sum, n = sum+x, n+1
			}
		}
		if n > half {
			out[k] = sum / float64(n)
		}
	}
	return out
}

// betweenSides is the middle between the median over half sections before each
// and that over half sections after it; NaN where a side has too few.
func betweenSides(v []float64, half int) []float64 {
	side := medianAround(v, half/2)
	out := make([]float64, len(v))
	for k := range v {
		n, d := len(v), half/2+1
		out[k] = (side[(k-d+n)%n] + side[(k+d)%n]) / 2
	}
	return out
}

// medianAround is the median over half sections to either side; NaN where
// half of them or more have none.
func medianAround(v []float64, half int) []float64 {
	out := make([]float64, len(v))
	buf := make([]float64, 0, 2*half+1)
	for k := range v {
		buf = buf[:0]
		for d := -half; d <= half; d++ {
			if x := v[((k+d)%len(v)+len(v))%len(v)]; !math.IsNaN(x) {
				buf = append(buf, x)
			}
		}
		out[k] = math.NaN()
		if 2*len(buf) > 2*half {
			out[k] = finishline.Median(buf)
		}
	}
	return out
}

// lowest returns the index of the smallest value, -1 when there is none.
func lowest(v []float64) int {
	best := -1
	for k, x := range v {
		if !math.IsNaN(x) && (best < 0 || x < v[best]) {
			best = k
		}
	}
	return best
}

// highest returns the index of the largest value, -1 when there is none.
func highest(v []float64) int {
	best := -1
	for k, x := range v {
		if !math.IsNaN(x) && (best < 0 || x > v[best]) {
			best = k
		}
	}
	return best
}

// mean returns the mean of the values there are and their number.
func mean(v []float64) (float64, int) {
	s, n := 0.0, 0
	for _, x := range v {
		if !math.IsNaN(x) {
			s, n = s+x, n+1
		}
	}
	if n == 0 {
		return math.NaN(), 0
	}
	return s / float64(n), n
}

// profile makes the samples of a profile, one a degree where there is one.
func profile(v []float64) []reading.Sample {
	out := make([]reading.Sample, 0, len(v))
	for k, x := range v {
		if !math.IsNaN(x) {
			out = append(out, reading.Sample{Azimuth: float64(k), Value: x})
		}
	}
	return out
}
