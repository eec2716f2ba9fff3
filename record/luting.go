package record

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"time"

	"crownassay/conformity"
	"crownassay/luting"
	"crownassay/tooth"
)

// LutingEntry is how the crown is fixed, as chosen, and what the program had
// said of it. What was not entered is empty.
type LutingEntry struct {
	Date      string          `json:"date"`      // YYYY-MM-DD
	Family    string          `json:"family"`    // of the luting material, as package luting names it
	Said      luting.Standing `json:"said"`      // of that family by the program; empty when it was not asked
	Run       int64           `json:"run"`       // number of the entry of the run that was looked at; 0 when it was not asked
	Rules     string          `json:"rules"`     // SHA-256 of the built-in rules that were asked; empty when they were not
	OwnRules  string          `json:"own_rules"` // SHA-256 of the practice's own, laid over them; empty without
	Isolation string          `json:"isolation"` // as entered, one of luting.Isolations
	Depth     *float64        `json:"depth"`     // of the finish line below the gingiva as entered, mm
	Substrate string          `json:"substrate"` // as entered, one of luting.Substrates
	Temporary string          `json:"temporary"` // the cement before as entered, one of luting.Temporaries
	Remark    string          `json:"remark"`
}

func (l *LutingEntry) check() error {
	if err := day(l.Date); err != nil {
		return err
	}
	if l.Family == "" || len(l.Family) > mostCode {
		return errors.New("choose the luting family")
	}
	if err := oneOf("standing", l.Said, []luting.Standing{"", luting.Supported, luting.Undecided, luting.NotSupported}); err != nil {
		return err
	}
	if asked := l.Said != ""; asked != (l.Run > 0) || asked != isHash(l.Rules) || l.OwnRules != "" && !isHash(l.OwnRules) {
		return errors.New("a choice of luting names the run and the rules it was judged by, or neither")
	}
	e := l.entered()
	return cmp.Or(e.Check(), texts("remark", l.Remark, 0))
}

func (l *LutingEntry) entered() luting.Entered {
	return luting.Entered{Isolation: l.Isolation, Depth: l.Depth, Substrate: l.Substrate, Temporary: l.Temporary}
}

// Text says in a line how the crown is fixed.
func (l *LutingEntry) Text() string {
	parts := []string{"luting " + l.Date + ": " + l.Family}
	if l.Said != "" {
		parts = append(parts, map[luting.Standing]string{luting.Supported: "supported", luting.Undecided: "undecided", luting.NotSupported: "not supported"}[l.Said]+
			fmt.Sprintf(" by the rules, looking at entry %d", l.Run))
	}
	parts = found(parts, "isolation", l.Isolation)
	if l.Depth != nil {
		parts = append(parts, fmt.Sprintf("finish line %g mm below the gingiva", *l.Depth))
	}
	parts = found(found(parts, "substrate", l.Substrate), "temporary cement", l.Temporary)
	return ended(parts, l.Remark)
}

// Luting is what package luting judges of a run: its readings, the row of its
// material in a table of limits, and what was entered.
func (d *Document) Luting(l *conformity.Limits, e luting.Entered) (c luting.Case, err error) {
	t, err := tooth.Parse(d.Tooth, tooth.Numbering(d.Numbering))
	if err != nil {
		return c, err
	}
	c = luting.Case{Class: t.Class(), Rule: conformity.Rule(d.Settings.Rule), Entered: e}
	if c.Material, err = l.Material(d.Material); err != nil {
		return c, err
	}
	for i := range d.Readings {
		c.Readings = append(c.Readings, d.Readings[i].Found())
	}
	return c, nil
}

// LutingChoice is a family that a person has chosen.
type LutingChoice struct {
	Family, Date, Remark, Who string // today where Date is empty
	Entered                   luting.Entered
}

// Lute makes the entry of a choice, with what the rules say of it by the newest
// run. A family that the rules do not know is refused.
func (s *Standing) Lute(d *Document, l *conformity.Limits, r *luting.Rules, c LutingChoice) (Entry, error) {
	if s.Run == nil {
		return Entry{}, errNoRun
	}
	if _, err := r.Family(c.Family); err != nil {
		return Entry{}, unfit("%s", err)
	}
	k, err := d.Luting(l, c.Entered)
	if err != nil {
		return Entry{}, err
	}
	v, err := r.Judge(k)
	if err != nil {
		return Entry{}, unfit("%s", err)
	}
	e := &LutingEntry{Date: c.Date, Family: c.Family, Run: s.Run.Number, Rules: r.Hash, OwnRules: r.OwnHash, Isolation: c.Entered.Isolation,
		Depth: c.Entered.Depth, Substrate: c.Entered.Substrate, Temporary: c.Entered.Temporary, Remark: c.Remark}
	if e.Date == "" {
		e.Date = time.Now().Format(time.DateOnly)
	}
	for _, a := range v.Answers {
		if a.Family.Name == c.Family {
			e.Said = a.Standing
		}
	}
	return Entry{Kind: KindLuting, Who: c.Who, Luting: e}, nil
}

// The settings of a bench that hold the practice's own luting rules.
const (
	lutingFile = "luting_file"
	lutingText = "luting"
)

// LutingRules returns the practice's own luting rules that the bench keeps; an
// empty text when there are none.
func LutingRules(ctx context.Context, s Store) (o OwnLimits, err error) {
	for _, f := range []struct {
		name string
		to   *string
	}{{lutingFile, &o.File}, {lutingText, &o.Text}} {
		if *f.to, err = s.Setting(ctx, f.name); err != nil && !errors.Is(err, ErrNotFound) {
			return o, err
		}
	}
	return o, nil
}

// SetLutingRules keeps the practice's own luting rules; an empty text takes
// them away.
func SetLutingRules(ctx context.Context, s Store, o OwnLimits) error {
	if _, err := luting.With(o.File, o.Text); err != nil {
		return unfit("%s", err)
	}
	if err := s.SetSetting(ctx, lutingFile, o.File); err != nil {
		return err
	}
	return s.SetSetting(ctx, lutingText, o.Text)
}
