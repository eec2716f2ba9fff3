package record

import (
	"fmt"
	"slices"

	"crownassay/reading"
)

// Standing is what a case's entries come to when those that were corrected are
// left out.
type Standing struct {
	Run           *Sealed                       // the newest run; nil when there is none
	Confirmations map[reading.HoldPoint]*Sealed // the newest one of each hold point
	Lots          []*Sealed                     // in the order they were kept
	Overrides     map[reading.ID]*Sealed        // of the newest run
	Luting        *Sealed                       // the newest; nil when there is none
	TryIns        []*Sealed                     // in the order they were kept: each is of a crown of its own
	Recalls       []*Sealed                     // in the order they were kept
	Corrected     map[int64]int64               // entries that do not hold, with the entry that says so
}

// Stand works the standing out.
func Stand(all []Sealed) Standing {
	s := Standing{Confirmations: map[reading.HoldPoint]*Sealed{}, Overrides: map[reading.ID]*Sealed{}, Corrected: map[int64]int64{}}
	for i := len(all) - 1; i >= 0; i-- { // the last first: a correction that was corrected itself corrects nothing
		e := &all[i]
		if e.Kind == KindCorrection && s.Corrected[e.Number] == 0 {
			s.Corrected[e.Correction.Entry] = e.Number
		}
	}
	for i := range all {
		e := &all[i]
		if s.Corrected[e.Number] != 0 {
			continue
		}
		switch e.Kind {
		case KindRun:
			s.Run = e
			clear(s.Overrides) // they were said of other values
		case KindConfirmation:
			s.Confirmations[e.Confirmation.HoldPoint] = e
		case KindLot:
			s.Lots = append(s.Lots, e)
		case KindOverride:
			if s.Run != nil && e.Override.Run == s.Run.Number {
				s.Overrides[e.Override.Reading] = e
			}
		case KindLuting:
			s.Luting = e
		case KindTryIn:
			s.TryIns = append(s.TryIns, e)
		case KindRecall:
			s.Recalls = append(s.Recalls, e)
		}
	}
	return s
}

// Confirm makes the entry that passes a hold point after looking at the newest
// run.
func (s *Standing) Confirm(d *Document, p reading.HoldPoint, who, remark string) (Entry, error) {
	if s.Run == nil {
		return Entry{}, errNoRun
	}
	c := &Confirmed{HoldPoint: p, Run: s.Run.Number, Remark: remark}
	any := false
	for i := range d.Readings {
		r := &d.Readings[i]
		if r.HoldPoint != p {
			continue
		}
		any = true
		if s.Overrides[r.ID] != nil {
			c.Overridden++
			continue
		}
		switch r.Verdict {
		case reading.Fails:
			c.Fails++
		case reading.Undecided:
			c.Undecided++
		case reading.Unmeasured:
			c.Unmeasured++
		}
	}
	if !any && slices.Contains(holdPoints, p) {
		return Entry{}, unfit("confirm %s: the newest run (entry %d) has no reading of this hold point; measure what belongs to it first", p, s.Run.Number)
	}
	return Entry{Kind: KindConfirmation, Who: who, Confirmation: c}, nil
}

// Override makes the entry of a person's own verdict on a reading of the
// newest run.
func (s *Standing) Override(d *Document, id reading.ID, to reading.Verdict, who, reason string) (Entry, error) {
	if s.Run == nil {
		return Entry{}, errNoRun
	}
	r := d.Reading(id)
	if r == nil {
		return Entry{}, unfit("override %s: the newest run (entry %d) has no such reading; its ids are in the ledger's JSON and in \"crownassay readings\"", id, s.Run.Number)
	}
	from := r.Verdict
	if o := s.Overrides[id]; o != nil {
		from = o.Override.To
	}
	return Entry{Kind: KindOverride, Who: who, Override: &Overridden{Reading: id, Run: s.Run.Number, From: from, To: to, Reason: reason}}, nil
}

// Correct makes the entry that takes an earlier one back.
func Correct(all []Sealed, number int64, who, reason string) (Entry, error) {
	if number < 1 || number > int64(len(all)) {
		return Entry{}, unfit("correct entry %d: the record has entries 1 to %d", number, len(all))
	}
	if by := Stand(all).Corrected[number]; by != 0 {
		return Entry{}, unfit("correct entry %d: entry %d has corrected it already", number, by)
	}
	return Entry{Kind: KindCorrection, Who: who, Correction: &CorrectEntry{Entry: number, Reason: reason}}, nil
}

var errNoRun = unfit("the record has no run yet: measure the case and keep the run first")

func unfit(format string, args ...any) error { return &Unfit{fmt.Sprintf(format, args...)} }
