package practice

import (
	"cmp"
	"errors"
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
	Name    string             `json:"name" doc:"Of the group; empty for those of which it is not known, or for all."`
	Crowns  int                `json:"crowns"`
	Ended   int                `json:"ended" doc:"Of them, that came out of use."`
	InUse   []survival.Step    `json:"in_use" nullable:"false" doc:"Share in use."`
	Lost    []LostBy           `json:"lost" nullable:"false" doc:"Share lost, by kind of reason."`
	Years   []survival.Step    `json:"years" nullable:"false" doc:"Share in use after 0, 1, 2 ... years, as long as any crown was observed."`
	Longest float64            `json:"longest" doc:"Time for which any crown was observed, years."`
	Seen    []survival.Subject `json:"-"` // the observations themselves
}

// LostBy is the share lost for one kind of reason.
type LostBy struct {
	Cause string          `json:"cause" enum:"technical,biological,other"`
	Steps []survival.Step `json:"steps" nullable:"false"`
}

// Last works out how long crowns last, those that were delivered.
func Last(crowns []Crown, name string) (*Lasting, error) {
	l := &Lasting{Name: name, Lost: []LostBy{}, Years: []survival.Step{}}
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
		l.Longest = max(l.Longest, years)
		l.Seen = append(l.Seen, survival.Subject{Time: years, Cause: causeOf[end]})
	}
	l.Crowns = len(l.Seen)
	var err error
	if l.InUse, err = survival.KaplanMeier(l.Seen); err != nil {
		return nil, err
	}
	for k, cause := range Causes {
		s, err := survival.AalenJohansen(l.Seen, k+1)
		if err != nil {
			return nil, err
		}
		l.Lost = append(l.Lost, LostBy{cause, s})
	}
	for y := 0; ; y++ {
		p, known := survival.At(l.InUse, l.Seen, float64(y), 1)
		if !known {
			return l, nil
		}
		l.Years = append(l.Years, p)
	}
}

// Survival is how long the crowns of a practice last.
type Survival struct {
	All        *Lasting             `json:"all"`
	By         Group                `json:"by" enum:"material,luting,said"`
	Groups     []*Lasting           `json:"groups" nullable:"false"`
	Difference *survival.Difference `json:"difference,omitempty" doc:"Between the groups that are known; missing where they cannot be compared."`
	Published  []Published          `json:"published" nullable:"false"`
}

// Survive works out how long crowns last, all and by a group.
func Survive(crowns []Crown, g Group) (*Survival, error) {
	s := &Survival{By: g, Published: PublishedFigures}
	var err error
	if s.All, err = Last(crowns, ""); err != nil {
		return nil, err
	}
	s.Groups, s.Difference, err = LastBy(crowns, g)
	return s, err
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
	out := []*Lasting{}
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
	if errors.Is(err, survival.ErrIncomparable) {
		return out, nil, nil // which the counts show
	}
	return out, &d, err
}

// Published is a figure from the literature.
type Published struct {
	Name   string  `json:"name" enum:"metal-ceramic,glass-ceramic,zirconia"`
	What   string  `json:"what" doc:"In words"`
	Years  int     `json:"years"`
	Share  float64 `json:"share"`
	Source string  `json:"source"`
	Status string  `json:"status"`
}

// PublishedFigures stand beside one's own; they are no mark to be reached, since
// crowns, patients and what counted as lost differ.
var PublishedFigures = []Published{
	{"metal-ceramic", "single crowns, metal-ceramic", 5, 0.947, sailer, "read"},
	{"glass-ceramic", "single crowns, leucite or lithium disilicate", 5, 0.966, sailer, "read"},
	{"zirconia", "single crowns, zirconia core, mostly veneered", 5, 0.921, sailer, "read"},
}

const sailer = "Sailer et al. 2015, Dent Mater 31:603; its printed intervals look misprinted and are left out"
