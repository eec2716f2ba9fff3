package conformity

import (
	"math"
	"testing"

	"crownassay/reading"
)

func atLeast(x float64) *reading.Limit { return &reading.Limit{Min: &x} }
func atMost(x float64) *reading.Limit  { return &reading.Limit{Max: &x} }
func within(a, b float64) *reading.Limit {
	return &reading.Limit{Min: &a, Max: &b}
}

// The two worked examples of JCGM 106:2012 (inputs from memory, results
// computed there and here to four figures).
func TestProbabilityJCGM106(t *testing.T) {
	for _, c := range []struct {
		y, u float64
		l    *reading.Limit
		want float64
	}{
		{-5.47, 0.05, atMost(-5.40), 0.9192},
		{509.7, 8.6, atLeast(490), 0.9890},
	} {
		if got := Probability(c.y, c.u, c.l); math.Abs(got-c.want) > 5e-5 {
			t.Errorf("Probability(%g, %g) = %.5f, want %g", c.y, c.u, got, c.want)
		}
	}
}

// Of a normal distribution 95.45 % lie within two standard deviations and
// half on either side of the mean (any table of the normal distribution).
func TestProbabilityOfTwoSides(t *testing.T) {
	if got := Probability(15, 2.5, within(10, 20)); math.Abs(got-0.9545) > 5e-5 {
		t.Errorf("mean of +-2 u = %.5f, want 0.9545", got)
	}
	if got := Probability(10, 0.1, within(10, 20)); math.Abs(got-0.5) > 1e-9 {
		t.Errorf("on the limit = %.5f, want 0.5", got)
	}
	if got := Probability(0, 0, atMost(0)); got != 1 {
		t.Errorf("count on its limit = %g, want 1", got)
	}
	if got := Probability(1, 0, atMost(0)); got != 0 {
		t.Errorf("count over its limit = %g, want 0", got)
	}
}

// The three zones of JCGM 106 with a guard band g = U on both sides; binary
// fractions, so that the borders are exact.
func TestDecide(t *testing.T) {
	for _, c := range []struct {
		y, U float64
		l    *reading.Limit
		want reading.Verdict
	}{
		{1.25, 0.25, atLeast(1), reading.Conforms},
		{1.125, 0.25, atLeast(1), reading.Undecided},
		{0.75, 0.25, atLeast(1), reading.Undecided},
		{0.625, 0.25, atLeast(1), reading.Fails},
		{0.75, 0.25, atMost(1), reading.Conforms},
		{1.25, 0.25, atMost(1), reading.Undecided},
		{1.375, 0.25, atMost(1), reading.Fails},
		{15, 1, within(10, 20), reading.Conforms},
		{10.5, 1, within(10, 20), reading.Undecided},
		{19.5, 1, within(10, 20), reading.Undecided},
		{8, 1, within(10, 20), reading.Fails},
		{22, 1, within(10, 20), reading.Fails},
		{0, 0, atMost(0), reading.Conforms},
		{1, 0, atMost(0), reading.Fails},
		{5, 1, nil, reading.Informs},
		{5, 1, &reading.Limit{}, reading.Informs},
	} {
		if got := Decide(c.y, c.U, c.l); got != c.want {
			t.Errorf("Decide(%g, %g, %+v) = %s, want %s", c.y, c.U, c.l, got, c.want)
		}
	}
}

// Four independent parts of standard uncertainty 1 give 2 (JCGM 101, 9.2.2;
// from memory).
func TestCombineJCGM101(t *testing.T) {
	if got := Combine([]reading.Part{{Standard: 1}, {Standard: 1}, {Standard: 1}, {Standard: 1}}); got != 2 {
		t.Errorf("Combine(1, 1, 1, 1) = %g, want 2", got)
	}
}

// The end gauge of JCGM 100, H.1 (inputs and result from memory): standard 25
// nm, comparison 9.7, expansion 2.9 and temperature 16.6 combine to 32 nm.
func TestCombineJCGM100(t *testing.T) {
	got := Combine([]reading.Part{{Standard: 25}, {Standard: 9.7}, {Standard: 2.9}, {Standard: 16.6}})
	if math.Round(got) != 32 {
		t.Errorf("combined %.2f nm, want 32", got)
	}
}

// The other rules, on the example of JCGM 106, 7.3 (lower limit 490, u 8.6):
// 509.7 conforms with a probability of 0.989, so by 95 % it conforms, while a
// guard band of U = 17.2 just lets it pass; 500 is undecided either way and
// passes as it stands.
func TestRules(t *testing.T) {
	least := 490.0
	l := &reading.Limit{Min: &least}
	for _, c := range []struct {
		rule Rule
		y    float64
		want reading.Verdict
	}{
		{GuardBand, 509.7, reading.Conforms}, {GuardBand, 506, reading.Undecided}, {GuardBand, 475, reading.Undecided}, {GuardBand, 472, reading.Fails},
		{"", 506, reading.Undecided},
		{Likelihood, 509.7, reading.Conforms}, {Likelihood, 504.2, reading.Conforms}, {Likelihood, 504, reading.Undecided}, {Likelihood, 475.8, reading.Fails},
		{Simple, 490, reading.Conforms}, {Simple, 489.9, reading.Fails}, {Simple, 500, reading.Conforms},
	} {
		if got := c.rule.Decide(c.y, 2*8.6, l); got != c.want {
			t.Errorf("%s: %g %s, want %s", c.rule, c.y, got, c.want)
		}
	}
	if got := Simple.Decide(1, 1, nil); got != reading.Informs {
		t.Errorf("without a limit %s", got)
	}
}
