package twoyears

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"crownassay/practice"
	"crownassay/record"
)

// inventor draws a history.
type inventor struct {
	*Truth
	rng  *rand.Rand
	rows []practice.Row
}

// Crowns invents the crowns of two years, as a table of earlier crowns has
// them, in the order of their days.
func Crowns(w *Truth, seed uint64) []practice.Row {
	v := &inventor{Truth: w, rng: rand.New(rand.NewPCG(seed, 2))}
	patient := 0
	for day := Begin; day.Before(End); day = day.AddDate(0, 0, 1) {
		if wd := day.Weekday(); wd == time.Saturday || wd == time.Sunday {
			continue
		}
		for range v.pick([]float64{0.62, 0.32, 0.06}) {
			patient++
			v.crown(day, fmt.Sprintf("Y%03d", patient))
		}
	}
	slices.SortStableFunc(v.rows, func(a, b practice.Row) int { return int(dayOf(&a).Sub(dayOf(&b)).Hours() / 24) })
	for i := range v.rows {
		v.rows[i].Line = i + 2
	}
	return v.rows
}

func dayOf(r *practice.Row) time.Time {
	date := ""
	if r.TryIn != nil {
		date = r.TryIn.Date
	} else {
		date = r.Recall.Date
	}
	d, _ := time.Parse(time.DateOnly, date) // written below
	return d
}

// pick draws an index with the given chances.
func (v *inventor) pick(chances []float64) int {
	u := v.rng.Float64()
	for i, c := range chances {
		if u -= c; u < 0 {
			return i
		}
	}
	return len(chances) - 1
}

func (v *inventor) chance(p float64) bool { return v.rng.Float64() < p }

// lots are the block lot and the tool of a day: blocks by the quarter and kind,
// tools by the month.
func (v *inventor) lots(day time.Time, kind int) (block, tool string) {
	quarter := (int(day.Month()) + 2) / 3
	if kind == 0 {
		block = fmt.Sprintf("K-%d-%02d", day.Year(), 3*quarter-2)
	} else {
		block = fmt.Sprintf("M-%d-%02d", day.Year(), 3*quarter-2)
	}
	return block, fmt.Sprintf("F%d", 12*(day.Year()-Begin.Year())+int(day.Month()))
}

var (
	teeth     = []string{"16", "26", "36", "46", "15", "25", "35", "45", "14", "24", "37", "47", "17", "27"}
	materials = []string{"zirconia-3y", "lithium-disilicate", "zirconia-5y"}
	dentists  = []string{"D1", "D2", "D3"}
)

// crown invents one crown, again if it has to be made again.
func (v *inventor) crown(day time.Time, patient string) {
	kind := v.pick([]float64{0.5, 0.38, 0.12})
	base := practice.Row{Patient: patient, Tooth: teeth[v.rng.IntN(len(teeth))], Numbering: "iso3950", Material: materials[kind]}
	dentist := dentists[v.pick([]float64{0.5, 0.3, 0.2})]
	for try := range 3 {
		r := base
		r.Block, r.Tool = v.lots(day, kind)
		r.TryIn = v.tryIn(day, dentist, r.Block, try == 2)
		if !r.TryIn.Remade {
			r.Luting = map[int]string{0: "self-adhesive-resin", 1: "adhesive-resin", 2: "resin-modified-glass-ionomer"}[kind]
			if kind == 0 && v.chance(0.4) {
				r.Luting = "glass-ionomer"
			}
			v.rows = append(v.rows, r)
			v.recalls(base, day, dentist, r.TryIn.Said)
			return
		}
		v.rows = append(v.rows, r)
		day = day.AddDate(0, 0, 7)
	}
}

// setting is what the practice sets the design program to: too much at first,
// then it tries less.
func (v *inventor) setting(day time.Time) float64 {
	of := [][]float64{{0.05, 0.04}, {0.03, 0.04, 0.02}, {0.03, 0.01, 0}, {0.02, 0.03, 0.01}}
	now := of[min(int(day.Sub(Begin).Hours()/24/182), len(of)-1)]
	return now[v.rng.IntN(len(now))]
}

// tryIn invents what is found.
func (v *inventor) tryIn(day time.Time, dentist, block string, last bool) *record.TryInEntry {
	set := v.setting(day)
	t := &record.TryInEntry{Date: day.Format(time.DateOnly), Dentist: dentist, Contacts: []record.ContactFound{},
		Occlusion: record.Occlusions[1+v.pick([]float64{0.05, 0.73, 0.22})], Seating: "full", Margin: record.Margins[1+v.pick([]float64{0.85, 0.13, 0.02})],
		Said: record.Saids[1+v.pick([]float64{0.72, 0.2, 0.08})]}
	for _, side := range []string{"mesial", "distal"} {
		if side == "distal" && v.chance(0.15) {
			continue // no neighbour there
		}
		tight := round(set+v.Off+v.OffSD*v.rng.NormFloat64(), 0.001)
		f := record.ContactFound{Side: side, Setting: ptr(set), Designed: ptr(-tight), Felt: v.felt(v.rng, tight, side == "distal", block)}
		if f.Felt == record.FeltHeavy {
			f.Removed, t.Seating = ptr(round(0.01+0.02*v.rng.Float64(), 0.01)), "after-adjusting"
		}
		if f.Felt == record.FeltOpen && !last && v.chance(0.6) {
			t.Remade, t.Why = true, side+" contact open"
		}
		t.Contacts = append(t.Contacts, f)
	}
	if t.Occlusion == "high" {
		t.Ground = ptr(round(0.03+0.05*v.rng.Float64(), 0.01))
	}
	if t.Margin == "open" && !last {
		t.Remade, t.Why = true, "margin open"
	}
	return t
}

// recalls invents what becomes of a crown that was kept: it is seen about
// twice a year until it is lost or the history ends.
func (v *inventor) recalls(base practice.Row, day time.Time, dentist string, said record.Said) {
	rate := v.Loss[base.Material]
	if said == "fails" {
		rate *= v.LossFails
	}
	lost := day.AddDate(0, 0, int(min(v.rng.ExpFloat64()/rate, 50)*365))
	for seen := day; ; {
		seen = seen.AddDate(0, 0, 150+v.rng.IntN(90))
		if lost.Before(seen) {
			seen = lost.AddDate(0, 0, 1+v.rng.IntN(5)) // a lost crown comes by itself
		}
		if seen.After(End) {
			return
		}
		if !lost.Before(seen) && v.chance(0.2) {
			continue // did not come
		}
		r := base
		r.Recall = v.recall(seen, dentist, said)
		if lost.Before(seen) {
			r.Recall.End = []string{"fracture", "loosening", "caries", "root"}[v.pick([]float64{0.35, 0.3, 0.15, 0.2})]
			v.rows = append(v.rows, r)
			return
		}
		v.rows = append(v.rows, r)
	}
}

func (v *inventor) recall(day time.Time, dentist string, said record.Said) *record.RecallEntry {
	bleeds := v.chance(map[record.Said]float64{"conforms": 0.12, "undecided": 0.15, "fails": 0.35}[said])
	return &record.RecallEntry{Date: day.Format(time.DateOnly), Dentist: dentist, Bleeding: &bleeds, Probing: ptr(float64(2 + v.pick([]float64{0.45, 0.4, 0.1, 0.05}))),
		Retention: record.Retentions[1+v.pick([]float64{0.98, 0.02})], Fracture: record.Fractures[1+v.pick([]float64{0.96, 0.03, 0.01})],
		Caries: record.CariesFound[1+v.pick([]float64{0.97, 0.03})], Margin: record.Margins[1+v.pick([]float64{0.88, 0.12})], Contacts: []record.ContactNow{}}
}

// round rounds to a multiple of step.
func round(x, step float64) float64 {
	return math.Round(math.Round(x/step)*step*1e6) / 1e6
}

func ptr(x float64) *float64 { return &x }
