package practice

import (
	"cmp"
	"fmt"
	"slices"

	"crownassay/practice/survival"
)

// Causes are the kinds of reasons for which a crown comes out of use, in the
// order of their numbers from 1 on.
var Causes = []string{"technical", "biological", "other"}

// causeOf says of which kind each end is.
var causeOf = map[string]int{"fracture": 1, "loosening": 1, "caries": 2, "root": 2, "periodontal": 2, "tooth-lost": 2, "wish": 3}

// Group says by what crowns are told apart.
type Group string

// The groups.
const (
	ByMaterial Group = "material"
	ByLuting   Group = "luting"
	BySaid     Group = "said" // what the program said at delivery
)

// Groups are all.
var Groups = []Group{ByMaterial, ByLuting, BySaid}

// of is the group that a crown is in; empty where it is not known.
func (g Group) of(c *Crown) string {
	switch g {
	case ByMaterial:
		return c.Material
	case ByLuting:
		return c.Luting
	}
	return string(c.TryIn.Said)
}

// Lasting is how long the crowns of one group last.
type Lasting struct {
	Name   string // of the group; empty for those of which it is not known, or for all
	Crowns int
	Ended  int
	InUse  []survival.Step        // share in use
	Lost   [][]survival.Step      // share lost, by cause
	Seen   []survival.Subject     // the observations themselves
	At     map[int]*survival.Step // share in use after whole years, where any crown was observed so long
}

// Last works out how long crowns last, those that were delivered.
func Last(crowns []Crown, name string) (*Lasting, error) {
	l := &Lasting{Name: name, At: map[int]*survival.Step{}}
	for i := range crowns {
		c := &crowns[i]
		if !c.Delivered() {
			continue
		}
		years, end, err := c.Observed()
		if err != nil {
			return nil, fmt.Errorf("read the record of case %d: %w", c.Case, err)
		}
		if end != "" {
			l.Ended++
		}
		l.Seen = append(l.Seen, survival.Subject{Time: years, Cause: causeOf[end]})
	}
	l.Crowns = len(l.Seen)
	var err error
	if l.InUse, err = survival.KaplanMeier(l.Seen); err != nil {
		return nil, err
	}
	for cause := range Causes {
		s, err := survival.AalenJohansen(l.Seen, cause+1)
		if err != nil {
			return nil, err
		}
		l.Lost = append(l.Lost, s)
	}
	for y := 1; ; y++ {
		p, known := survival.At(l.InUse, l.Seen, float64(y), 1)
		if !known {
			return l, nil
		}
		l.At[y] = &p
	}
}

// LastBy works it out for each group, by name, and whether chance alone
// explains that they differ; nil where they cannot be compared.
func LastBy(crowns []Crown, g Group) ([]*Lasting, *survival.Difference, error) {
	parts := map[string][]Crown{}
	for _, c := range crowns {
		if c.Delivered() {
			parts[g.of(&c)] = append(parts[g.of(&c)], c)
		}
	}
	var out []*Lasting
	var seen [][]survival.Subject
	for name, p := range parts {
		l, err := Last(p, name)
		if err != nil {
			return nil, nil, err
		}
		out = append(out, l)
	}
	slices.SortFunc(out, func(a, b *Lasting) int { return cmp.Compare(a.Name, b.Name) })
	for _, l := range out {
		if l.Name != "" { // those of which it is not known are no group to compare
			seen = append(seen, l.Seen)
		}
	}
	d, err := survival.LogRank(seen)
	if err != nil {
		return out, nil, nil // too few groups or losses, which the counts show
	}
	return out, &d, nil
}

// Published is a figure from the literature.
type Published struct {
	What   string // in words
	Years  int
	Share  float64
	Source string
	Status string
}

// PublishedFigures stand beside one's own; they are no mark to be reached, since
// crowns, patients and what counted as lost differ.
var PublishedFigures = []Published{
	{"single crowns, metal-ceramic", 5, 0.947, sailer, "read"},
	{"single crowns, leucite or lithium disilicate", 5, 0.966, sailer, "read"},
	{"single crowns, zirconia core, mostly veneered", 5, 0.921, sailer, "read"},
}

const sailer = "Sailer et al. 2015, Dent Mater 31:603; its printed intervals look misprinted and are left out"
