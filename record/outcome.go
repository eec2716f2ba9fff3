package record

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
)

// TryInEntry is what was found when the crown was tried in.
type TryInEntry struct {
	Date      string         `json:"date"`     // YYYY-MM-DD
	Dentist   string         `json:"dentist"`  // code; may be empty
	Contacts  []ContactFound `json:"contacts"` // at most one a side
	Occlusion Occlusion      `json:"occlusion"`
	Ground    *float64       `json:"ground"` // taken off the occlusal surface, mm; nil when nobody said
	Seating   Seating        `json:"seating"`
	Margin    Margin         `json:"margin"`
	Remade    bool           `json:"remade"` // the crown is made again
	Why       string         `json:"why"`    // it is, or what should be known
	Said      Said           `json:"said"`   // by the program before; empty when the crown was not measured
}

// ContactFound is a proximal contact at try-in, before anything was taken off.
type ContactFound struct {
	Side     string   `json:"side"` // mesial or distal
	Felt     Felt     `json:"felt"`
	Removed  *float64 `json:"removed"`  // taken off, mm; nil when nobody said
	Designed *float64 `json:"designed"` // distance of the design from the neighbour as measured, mm, below zero for an overlap; nil when it was not measured
	Setting  *float64 `json:"setting"`  // that the design program was given, mm, above zero for an overlap; nil when it is not known
}

// Felt is how a contact is, from the loosest on.
type Felt string

// The four ways a contact is felt.
const (
	FeltOpen  Felt = "open"  // nothing holds
	FeltLight Felt = "light" // holds less than the practice wants, and is left
	FeltRight Felt = "right"
	FeltHeavy Felt = "heavy" // has to be taken off
)

// Felts are all, from the loosest on.
var Felts = []Felt{FeltOpen, FeltLight, FeltRight, FeltHeavy}

// Occlusion is how the crown meets the opposing teeth at try-in.
type Occlusion string

// Seating is how the crown goes down.
type Seating string

// Margin is what a probe finds at the margin.
type Margin string

// Said is the worst that the program said of a crown before it was tried in.
type Said string

// Saids are all, from the best on.
var Saids = []Said{"", "conforms", "undecided", "fails"}

// What is found of occlusion, seating and margin. An empty word says that
// nobody looked.
var (
	Occlusions = []Occlusion{"", "out", "even", "high"}          // out of contact, as the neighbours, first to meet
	Seatings   = []Seating{"", "full", "after-adjusting", "not"} // at once, after something was taken off, not at all
	Margins    = []Margin{"", "smooth", "felt", "open"}          // nothing to feel, a step or a gap the probe feels, a gap it enters
)

// RecallEntry is what was found at a later visit. Its words are our own; what
// they grade is graded in the criteria for restorations of Hickel et al. 2010,
// Clin Oral Investig 14:349 (grades 1 to 3 acceptable, 4 to be repaired, 5 to
// be replaced), and bleeding on probing is Ainamo & Bay 1975, Int Dent J
// 25:229 (both from memory).
type RecallEntry struct {
	Date      string       `json:"date"`    // YYYY-MM-DD
	Dentist   string       `json:"dentist"` // code; may be empty
	Bleeding  *bool        `json:"bleeding"`
	Probing   *float64     `json:"probing"`   // deepest, mm
	Retention string       `json:"retention"` // one of Retentions
	Fracture  string       `json:"fracture"`  // one of Fractures
	Caries    string       `json:"caries"`    // one of CariesFound
	Margin    Margin       `json:"margin"`
	Contacts  []ContactNow `json:"contacts"` // at most one a side
	End       string       `json:"end"`      // one of Ends: why the crown is not in use any more; empty while it is
	Remark    string       `json:"remark"`
}

// ContactNow is a proximal contact at a recall.
type ContactNow struct {
	Side string `json:"side"` // mesial or distal
	Felt Felt   `json:"felt"`
}

// What is found at a recall, from the best on. An empty word says that nobody
// looked.
var (
	Retentions  = []string{"", "firm", "recemented", "lost"}
	Fractures   = []string{"", "none", "polished", "repairable", "lost"} // chipping: none, polished away, to be repaired, the crown is broken
	CariesFound = []string{"", "none", "watched", "treated", "deep"}     // at the margin
	Ends        = []string{"", "fracture", "caries", "loosening", "root", "periodontal", "tooth-lost", "wish"}
)

// Check refuses what cannot have been found, and says what to give instead.
func (e *TryInEntry) Check() error {
	if err := day(e.Date); err != nil {
		return err
	}
	sides := map[string]bool{}
	for _, c := range e.Contacts {
		if err := side(c.Side, sides); err != nil {
			return err
		}
		if err := oneOf("contact", c.Felt, Felts); err != nil {
			return err
		}
		if err := cmp.Or(length("what was taken off", c.Removed, true), length("the designed contact", c.Designed, false), length("the contact setting", c.Setting, false)); err != nil {
			return err
		}
	}
	if e.Contacts == nil {
		return errors.New("try-in without a list of contacts; an empty one says that there is no neighbour")
	}
	if e.Remade && strings.TrimSpace(e.Why) == "" {
		return errors.New("say in a few words why the crown is made again")
	}
	return cmp.Or(length("what was taken off", e.Ground, true), oneOf("occlusion", e.Occlusion, Occlusions), oneOf("seating", e.Seating, Seatings),
		oneOf("margin", e.Margin, Margins), oneOf("verdict", e.Said, Saids), code(e.Dentist), texts("reason", e.Why, 0))
}

// Check refuses what cannot have been found, and says what to give instead.
func (e *RecallEntry) Check() error {
	if err := day(e.Date); err != nil {
		return err
	}
	sides := map[string]bool{}
	for _, c := range e.Contacts {
		if err := side(c.Side, sides); err != nil {
			return err
		}
		if err := oneOf("contact", c.Felt, Felts); err != nil {
			return err
		}
	}
	if e.Contacts == nil {
		return errors.New("recall without a list of contacts; an empty one says that nobody looked")
	}
	if p := e.Probing; p != nil && !(*p >= 0 && *p <= mostProbing) {
		return fmt.Errorf("a probing depth of %g mm; give one of 0 to %d mm", *p, mostProbing)
	}
	return cmp.Or(oneOf("retention", e.Retention, Retentions), oneOf("fracture", e.Fracture, Fractures), oneOf("caries", e.Caries, CariesFound),
		oneOf("margin", e.Margin, Margins), oneOf("end", e.End, Ends), code(e.Dentist), texts("remark", e.Remark, 0))
}

// Bounds of what is entered, mm.
const (
	mostProbing = 20 // longer than any root
	mostLength  = 1  // of what is taken off a contact, or set for one
)

// day refuses what is no date.
func day(s string) error {
	if _, err := time.Parse(time.DateOnly, s); err != nil {
		return fmt.Errorf("%q is no date; give it as 2026-05-31", s)
	}
	return nil
}

func side(s string, had map[string]bool) error {
	if s != "mesial" && s != "distal" {
		return fmt.Errorf("a contact on the side %q; it is mesial or distal", s)
	}
	if had[s] {
		return fmt.Errorf("the %s contact is there twice", s)
	}
	had[s] = true
	return nil
}

func oneOf[S ~string](what string, s S, of []S) error {
	if slices.Contains(of, s) {
		return nil
	}
	var words []string
	for _, w := range of {
		if w != "" {
			words = append(words, string(w))
		}
	}
	return fmt.Errorf("unknown %s %q; it is one of %s", what, s, strings.Join(words, ", "))
}

// length refuses what cannot be a length at a contact, mm.
func length(what string, v *float64, positive bool) error {
	if v == nil || math.Abs(*v) <= mostLength && (*v >= 0 || !positive) {
		return nil
	}
	return fmt.Errorf("%s is given as %g mm; is that micrometres? Give millimetres", what, *v)
}

func code(s string) error {
	if len(s) > mostWho {
		return fmt.Errorf("the dentist's code is longer than %d bytes: give initials or a number", mostWho)
	}
	return nil
}
