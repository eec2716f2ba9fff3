package phantom

import "math"

// smoothMax is the larger of a and b, rounded where they differ by less than
// k; exact elsewhere and never below the larger.
func smoothMax(a, b, k float64) float64 {
	m := math.Max(a, b)
	d := k - math.Abs(a-b)
	if d <= 0 {
		return m
	}
	return m + d*d/(4*k)
}

// step rises smoothly from 0 at t <= 0 to 1 at t >= 1.
func step(t float64) float64 {
	t = math.Min(1, math.Max(0, t))
	return t * t * (3 - 2*t)
}

// bump is a cosine hill of height 1 at t = 0 that ends with zero slope at
// t = -1 and t = 1.
func bump(t float64) float64 {
	if t <= -1 || t >= 1 {
		return 0
	}
	c := math.Cos(math.Pi * t / 2)
	return c * c
}

// sides holds one value for each side of a tooth.
type sides struct{ m, b, d, l float64 }

// even returns the same value on every side.
func even(v float64) sides { return sides{v, v, v, v} }

// at interpolates round the tooth: exact at the four sides, with zero slope
// there, smooth in between.
func (s sides) at(a float64) float64 {
	sn, cs := math.Sincos(a)
	x, y := s.m, s.b
	if cs < 0 {
		x = s.d
	}
	if sn < 0 {
		y = s.l
	}
	return x*cs*cs + y*sn*sn
}

// turn brings an angle into -pi..pi.
func turn(a float64) float64 { return math.Remainder(a, 2*math.Pi) }

// series is a trigonometric sum c0 + sum ck cos ka + sk sin ka.
type series struct{ c, s []float64 }

// fitSeries keeps the given number of harmonics of f, sampled at 256 azimuths.
func fitSeries(f func(a float64) float64, harmonics int) series {
	const n = 256
	out := series{make([]float64, harmonics+1), make([]float64, harmonics+1)}
	for i := range n {
		a := 2 * math.Pi * float64(i) / n
		v := f(a)
		for k := range out.c {
			sn, cs := math.Sincos(float64(k) * a)
			out.c[k] += v * cs * 2 / n
			out.s[k] += v * sn * 2 / n
		}
	}
	out.c[0] /= 2
	return out
}

// at returns the sum at azimuth a (Clenshaw-like recurrence of the angles).
func (f series) at(a float64) float64 {
	s1, c1 := math.Sincos(a)
	v, c, s := f.c[0], 1.0, 0.0
	for k := 1; k < len(f.c); k++ {
		c, s = c*c1-s*s1, s*c1+c*s1
		v += f.c[k]*c + f.s[k]*s
	}
	return v
}

// curve is a C1 cubic through equally spaced values over 0..1, continued
// straight beyond both ends.
type curve []float64

func (c curve) slope(i int) float64 {
	n := len(c)
	switch i {
	case 0:
		return c[1] - c[0]
	case n - 1:
		return c[n-1] - c[n-2]
	}
	return (c[i+1] - c[i-1]) / 2
}

func (c curve) at(t float64) float64 {
	n := len(c) - 1
	x := t * float64(n)
	if x <= 0 {
		return c[0] + x*c.slope(0)
	}
	if x >= float64(n) {
		return c[n] + (x-float64(n))*c.slope(n)
	}
	i := min(int(x), n-1)
	u := x - float64(i)
	h := u * u * (3 - 2*u)
	return c[i]*(1-h) + c[i+1]*h + c.slope(i)*u*(1-u)*(1-u) - c.slope(i+1)*u*u*(1-u)
}
