package visit

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
	"time"

	"crownassay/internal/par"
)

// truth is an invented practice: the logarithm of each stage's minutes is
// normal about m with standard deviation s, and nobody goes back.
type truth map[string]struct{ m, s float64 }

// visits invents n visits of a material that ended.
func (k truth) visits(p *Plan, r *rand.Rand, material string, n int) []Visit {
	var out []Visit
	for i := range n {
		at := noon.AddDate(0, 0, -i-1)
		v := Visit{ID: int64(i + 1), Chair: 1, Material: material}
		for _, s := range p.For(material) {
			v.Taps = append(v.Taps, Tap{Kind: KindStage, Stage: s.Name, At: at})
			at = at.Add(long(k.one(r, s.Name)))
		}
		out = append(out, Visit{ID: v.ID, Chair: 1, Material: material, Taps: append(v.Taps, Tap{Kind: KindEnd, At: at})})
	}
	return out
}

func (k truth) one(r *rand.Rand, stage string) float64 {
	return math.Exp(k[stage].m + k[stage].s*r.NormFloat64())
}

// whole is how long a visit lasts in truth.
func (k truth) whole(p *Plan, r *rand.Rand, material string) float64 {
	sum := 0.0
	for _, s := range p.For(material) {
		sum += k.one(r, s.Name)
	}
	return sum
}

// steady is the plan without going back.
func steady() *Plan {
	p := Default()
	p.Backs = nil
	return p
}

// TestPromiseFromTheStart: where practices are as varied as the plan's wide
// defaults say, a promise of 90 % is kept in 90 % of visits however few visits
// a practice has. That is what a posterior means (Rubin, Annals of Statistics
// 12 (1984) 1151-1172, from memory). Practices are drawn from the prior.
func TestPromiseFromTheStart(t *testing.T) {
	p := steady()
	const practices, material = 900, "resin-infiltrated"
	for _, visits := range []int{0, 3} {
		kept := 0
		for i := range practices {
			r := rand.New(rand.NewPCG(uint64(i), 11))
			whole, seen := 0.0, make([]Visit, visits)
			for _, s := range p.For(material) {
				minutes := drawn(r, s, visits+1)
				whole += minutes[visits]
				for j := range seen {
					seen[j].Material = material
					at := noon.AddDate(0, 0, j-10)
					seen[j].Taps = append(seen[j].Taps, Tap{Kind: KindStage, Stage: s.Name, At: at}, Tap{Kind: KindWait, At: at.Add(long(minutes[j]))})
				}
			}
			if whole <= promised(t, p.Learn(seen), material) {
				kept++
			}
		}
		share := float64(kept) / practices
		if se := math.Sqrt(0.9 * 0.1 / practices); math.Abs(share-0.9) > 3*se {
			t.Errorf("after %d visits kept in %.3f, want 0.900 within 3 x %.3f", visits, share, se)
		} else {
			t.Logf("after %d visits kept in %.3f of %d", visits, share, practices)
		}
	}
}

// drawn are n durations of a stage in a practice that is drawn from the prior,
// none longer than what counts as one.
func drawn(r *rand.Rand, s Stage, n int) []float64 {
	b, longest := stated(s.Of("resin-infiltrated")), s.longest()
	for {
		v := b.b / gamma(r, b.a)
		m := b.m + math.Sqrt(v/b.k)*r.NormFloat64()
		out := make([]float64, n)
		for i := range out {
			out[i] = math.Exp(m + math.Sqrt(v)*r.NormFloat64())
		}
		if slices.Max(out) <= longest && slices.Min(out) >= tooShort {
			return out
		}
	}
}

// gamma is a random number of the gamma distribution of whole shape and scale 1:
// a sum of exponentials.
func gamma(r *rand.Rand, shape float64) float64 {
	sum := 0.0
	for range int(shape) {
		sum += r.ExpFloat64()
	}
	return sum
}

// promised is the time that is promised with 90 %.
func promised(t *testing.T, l *Learned, material string) float64 {
	t.Helper()
	s := l.set(noon, []Visit{{ID: wantedID, Chair: 1, Material: material, Added: noon}})
	got, err := s.play(context.Background(), 1500)
	if err != nil {
		t.Fatal(err)
	}
	return spreadOf(got.finish[0]).P90
}

// TestPromiseKept: in a practice with other durations than the defaults, which
// are known here, a promise of 90 % after 60 visits is kept in 90 % of new ones.
func TestPromiseKept(t *testing.T) {
	p := steady()
	const practices, fresh, material = 12, 4000, "lithium-disilicate"
	shares, mean := []float64{}, 0.0
	for i := range practices {
		r := rand.New(rand.NewPCG(uint64(i), 12))
		k := truth{}
		for _, s := range p.For(material) {
			k[s.Name] = struct{ m, s float64 }{math.Log(s.Of(material).Median * (0.6 + r.Float64())), 0.1 + 0.3*r.Float64()}
		}
		minutes := promised(t, p.Learn(k.visits(p, r, material, 60)), material)
		kept := 0
		for range fresh {
			if k.whole(p, r, material) <= minutes {
				kept++
			}
		}
		shares = append(shares, float64(kept)/fresh)
		mean += float64(kept) / fresh / practices
	}
	t.Logf("kept in %.3f on average: %.3f", mean, shares)
	// the median of 60 visits is known to a sixth of the spread of one (0.13), so
	// that one practice is off by 0.03 (normal density at 90 %, 0.175 x 0.13),
	// and the mean of 12 by 0.0075 with the default's pull
	if math.Abs(mean-0.9) > 3*0.0075 {
		t.Errorf("kept in %.3f on average, want 0.900", mean)
	}
	for i, s := range shares {
		if math.Abs(s-0.9) > 0.09 {
			t.Errorf("practice %d: kept in %.3f", i, s)
		}
	}
}

// TestTwoChairs: two visits that reach the mill together are in each other's
// way, and the later one says so; the one that began first does not wait.
func TestTwoChairs(t *testing.T) {
	p := Default()
	all := []Visit{
		{ID: 1, Chair: 1, Material: "zirconia-3y", Taps: taps(p, -60, "anaesthesia", -2, "design")},
		{ID: 2, Chair: 2, Material: "zirconia-3y", Taps: taps(p, -50, "anaesthesia", -20, "impression", -2, "wait")},
	}
	l := p.Learn(nil)
	f, err := l.Forecast(context.Background(), all, noon)
	if err != nil {
		t.Fatal(err)
	}
	var mill *Conflict
	for i, c := range f.Conflicts {
		if c.Resource == "mill" && c.Visit == 2 && c.Holder == 1 {
			mill = &f.Conflicts[i]
		}
	}
	if mill == nil || mill.Chance < 0.3 || mill.Mean < 5 || mill.Ninety < mill.Mean {
		t.Errorf("conflicts = %+v, want visit 2 to wait for the mill", f.Conflicts)
	}
	alone, err := l.Forecast(context.Background(), all[1:], noon)
	if err != nil {
		t.Fatal(err)
	}
	if a, b := alone.Visits[0].Left.P50, f.Visits[1].Left.P50; b < a+5 {
		t.Errorf("ready after %.0f min alone and %.0f beside the other, want later", a, b)
	}
	if len(f.Visits[0].Backs) != 3 || len(f.Windows) == 0 {
		t.Errorf("going back %+v, windows %+v", f.Visits[0].Backs, f.Windows)
	}
	for _, e := range f.Visits[0].Backs {
		if e.Later.P50 <= 0 || e.Later.P90 < e.Later.P50 {
			t.Errorf("%s makes it later by %+v", e.Back, e.Later)
		}
	}
}

// TestWindow: while the mill runs the dentist is free, from its beginning to
// the try-in, unless the other chair has the dentist.
func TestWindow(t *testing.T) {
	for _, c := range []struct {
		busy     []span
		from, to float64
		want     span
	}{
		{nil, 10, 40, span{10, 40}},
		{[]span{{0, 10}, {40, 50}}, 10, 40, span{10, 40}},
		{[]span{{5, 20}, {32, 33}}, 10, 40, span{20, 32}},
		{[]span{{5, 45}}, 10, 40, span{40, 40}},
		{[]span{{5, 20}, {20, 25}}, 10, 40, span{25, 40}},
	} {
		if got := firstFree(c.busy, c.from, c.to); got != c.want {
			t.Errorf("firstFree(%v, %g, %g) = %v, want %v", c.busy, c.from, c.to, got, c.want)
		}
	}
	p := steady()
	v := Visit{ID: 1, Chair: 1, Material: "leucite", Taps: taps(p, -40, "impression", -10, "milling")}
	f, err := p.Learn(nil).Forecast(context.Background(), []Visit{v}, noon)
	if err != nil {
		t.Fatal(err)
	}
	w := f.Windows[0]
	// it is the milling that runs, so it begins now and lasts as long as that
	if w.Stage != "milling" || !w.From.Equal(noon) || w.Chance < 0.9 || math.Abs(w.Middle-f.Visits[0].Stages[1].To.Sub(noon).Minutes()) > 0.1 {
		t.Errorf("window = %+v", w)
	}
}

// TestStale: a visit left running overnight is named and not planned, and holds
// nothing that another one would wait for.
func TestStale(t *testing.T) {
	p := Default()
	all := []Visit{
		{ID: 1, Chair: 1, Material: "leucite", Taps: taps(p, -1200, "milling")},
		{ID: 2, Chair: 2, Material: "leucite", Taps: taps(p, -5, "design")},
	}
	f, err := p.Learn(all).Forecast(context.Background(), all, noon)
	if err != nil {
		t.Fatal(err)
	}
	if f.Visits[0].Stale == "" || f.Visits[0].Ready != nil || f.Visits[1].Ready == nil || len(f.Conflicts) != 0 {
		t.Errorf("forecast = %+v", f)
	}
}

func TestBook(t *testing.T) {
	p := Default()
	ctx := context.Background()
	all := []Visit{{ID: 1, Chair: 1, Material: "zirconia-3y", Taps: taps(p, -10, "preparation")}}
	l := p.Learn(nil)
	last := 0.0
	for _, sure := range []float64{0.8, 0.9, 0.95} {
		b, err := l.Book(ctx, all, noon, Wanted{Chair: 2, Material: "zirconia-3y", At: noon.Add(10 * time.Minute), Sure: sure})
		if err != nil {
			t.Fatal(err)
		}
		if math.Mod(b.Minutes, 5) != 0 || b.Minutes <= last || b.Left.P90 < b.Alone.P90 || !b.Default || len(b.Conflicts) == 0 {
			t.Errorf("%g: %+v", sure, b)
		}
		last = b.Minutes
	}
	// a chair that is taken is free when the visit in it is over
	b, err := l.Book(ctx, all, noon, Wanted{Chair: 1, Material: "zirconia-3y", At: noon, Sure: 0.9})
	if err != nil || b.Conflicts[0].Resource != "chair 1" || b.Conflicts[0].Chance != 1 {
		t.Errorf("on the taken chair: %+v, %v", b, err)
	}
	for _, w := range []Wanted{{Chair: 9, At: noon, Sure: 0.9}, {Chair: 1, At: noon, Sure: 1}, {Chair: 1, At: noon.Add(-time.Hour), Sure: 0.9}} {
		if _, err := l.Book(ctx, all, noon, w); err == nil {
			t.Errorf("%+v was not refused", w)
		}
	}
}

// TestSameWithAnyWorkers: one worker and four give the same to the bit.
func TestSameWithAnyWorkers(t *testing.T) {
	defer func() { par.Workers = 0 }()
	p := Default()
	all := []Visit{
		{ID: 1, Chair: 1, Material: "zirconia-3y", Taps: taps(p, -60, "anaesthesia", -2, "design")},
		{ID: 2, Chair: 2, Material: "leucite", Taps: taps(p, -50, "anaesthesia", -20, "impression")},
	}
	var got [2]*Forecast
	for i, n := range []int{1, 4} {
		par.Workers = n
		f, err := p.Learn(nil).Forecast(context.Background(), all, noon)
		if err != nil {
			t.Fatal(err)
		}
		got[i] = f
	}
	if !reflect.DeepEqual(got[0], got[1]) {
		t.Error("one worker and four differ")
	}
}

// BenchmarkForecast is what is asked for at every tap, by how many visits are
// open at their beginning.
func BenchmarkForecast(b *testing.B) {
	p := Default()
	for _, n := range []int{2, 4, 6} {
		var all []Visit
		for i := range n {
			all = append(all, Visit{ID: int64(i + 1), Chair: i + 1, Material: "zirconia-3y", Taps: taps(p, float64(i-8), "anaesthesia")})
		}
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				if _, err := p.Learn(nil).Forecast(context.Background(), all, noon); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
