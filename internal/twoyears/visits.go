package twoyears

import (
	"math"
	"math/rand/v2"
	"time"

	"crownassay/practice"
	"crownassay/practice/visit"
)

// Spell is how long a stage truly takes: log-normal.
type Spell struct {
	Stage  string
	Median float64 // minutes
	Sigma  float64 // of the logarithm
	Only   string  // material; empty for all
}

// Spells are the stages in the order in which they are tapped.
var Spells = []Spell{
	{"anaesthesia", 5, 0.3, ""}, {"onset", 7, 0.3, ""}, {"removal", 11, 0.4, ""}, {"preparation", 19, 0.3, ""}, {"retraction", 7, 0.35, ""},
	{"impression", 5, 0.3, ""}, {"design", 12, 0.35, ""}, {"milling", 14, 0.12, "lithium-disilicate"}, {"milling", 28, 0.12, "zirconia-3y"},
	{"milling", 24, 0.12, "zirconia-5y"}, {"sintering", 38, 0.05, "zirconia-3y"}, {"sintering", 34, 0.05, "zirconia-5y"}, {"try-in", 9, 0.4, ""},
	{"polish", 8, 0.35, ""}, {"crystallisation", 19, 0.05, "lithium-disilicate"}, {"cementing", 13, 0.25, ""}, {"check", 5, 0.4, ""},
}

// Again is the true chance that the impression shows that more has to be taken
// off.
const Again = 0.12

// Visits invents the visits of crowns, each at nine or at two of its day.
func Visits(rows []practice.Row, seed uint64) []visit.Visit {
	rng := rand.New(rand.NewPCG(seed, 3))
	var out []visit.Visit
	for _, r := range rows {
		if r.TryIn == nil {
			continue
		}
		day, _ := time.Parse(time.DateOnly, r.TryIn.Date) // made by Crowns
		at := day.Add(time.Duration([]int{9, 14}[rng.IntN(2)])*time.Hour + time.Duration(rng.IntN(15))*time.Minute)
		v := visit.Visit{Chair: 1 + rng.IntN(2), Dentist: r.TryIn.Dentist, Material: r.Material}
		v.Taps = taps(rng, at, r.Material, rng.Float64() < Again)
		out = append(out, v)
	}
	return out
}

// taps are the taps of one visit from its begin to its end.
func taps(rng *rand.Rand, at time.Time, material string, again bool) []visit.Tap {
	var out []visit.Tap
	last := func(s Spell) {
		m := s.Median * math.Exp(s.Sigma*rng.NormFloat64())
		at = at.Add(time.Duration(m * float64(time.Minute))).Truncate(time.Second)
	}
	for _, s := range Spells {
		if s.Only != "" && s.Only != material {
			continue
		}
		out = append(out, visit.Tap{Kind: visit.KindStage, Stage: s.Stage, At: at})
		last(s)
		if s.Stage != "impression" || !again {
			continue
		}
		out = append(out, visit.Tap{Kind: visit.KindBack, Stage: "preparation", Back: "more-reduction", At: at})
		last(Spell{Median: 7, Sigma: 0.4})
		for _, s := range []string{"retraction", "impression"} {
			out = append(out, visit.Tap{Kind: visit.KindStage, Stage: s, At: at})
			last(Spell{Median: 6, Sigma: 0.3})
		}
	}
	return append(out, visit.Tap{Kind: visit.KindEnd, At: at})
}

// Today are two visits that are under way: one whose crown is being milled,
// one whose tooth is being prepared.
func Today(now time.Time, seed uint64) []visit.Visit {
	rng := rand.New(rand.NewPCG(seed, 4))
	var out []visit.Visit
	for i, want := range []string{"milling", "preparation"} {
		material := []string{"zirconia-3y", "lithium-disilicate"}[i]
		all := taps(rng, now, material, false)
		for k, t := range all {
			if t.Stage == want {
				all = all[:k+1]
				break
			}
		}
		back := now.Add(-9 * time.Minute).Sub(all[len(all)-1].At) // the last one began nine minutes ago
		for k := range all {
			all[k].At = all[k].At.Add(back)
		}
		out = append(out, visit.Visit{Chair: 1 + i, Dentist: dentists[0], Material: material, Taps: all})
	}
	return out
}
