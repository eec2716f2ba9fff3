package spc

import (
	"math"
	"slices"
	"testing"
)

// TestProportionsHandbook is the worked example of the NIST/SEMATECH e-Handbook,
// 6.3.3.2 (from memory, and by hand): faulty chips of 50 on each of 30 wafers,
// mean 0.2313, limits 0.4102 and 0.0524, wafers 15 and 23 out.
func TestProportionsHandbook(t *testing.T) {
	counts := []int{12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6}
	c := ChartProportions(counts, slices.Repeat([]int{50}, len(counts)))
	if math.Abs(c.Center-0.2313) > 6e-5 {
		t.Errorf("center = %.5f, want 0.2313", c.Center)
	}
	var out []int
	for i, p := range c.Points {
		if math.Abs(p.High-0.4102) > 6e-5 || math.Abs(p.Low-0.0524) > 6e-5 {
			t.Errorf("limits = %.5f, %.5f, want 0.0524, 0.4102", p.Low, p.High)
		}
		if p.Out {
			out = append(out, i+1)
		}
	}
	if want := []int{15, 23}; !slices.Equal(out, want) {
		t.Errorf("out are wafers %v, want %v", out, want)
	}
}

// TestProportionsOfFew: 2 of 3 lies outside three standard deviations of 0.1,
// yet chance gives it in 1 of 36 (by hand: 3 * 0.01 * 0.9 + 0.001 = 0.028), so it
// is not out.
func TestProportionsOfFew(t *testing.T) {
	c := ChartProportions([]int{2, 8, 0}, []int{3, 97, 0})
	if len(c.Points) != 2 {
		t.Fatalf("%d points, want 2: nothing of none is no point", len(c.Points))
	}
	p := c.Points[0]
	if p.Share <= p.High || math.Abs(p.Tail-0.028) > 1e-12 || p.Out {
		t.Errorf("2 of 3 at 0.1: share %g, limit %g, tail %g, out %v; want outside, 0.028, not out", p.Share, p.High, p.Tail, p.Out)
	}
	if math.Abs(normalTail-0.00135) > 1e-6 {
		t.Errorf("beyond three standard deviations lie %g, want 0.00135", normalTail)
	}
}
