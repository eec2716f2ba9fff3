package visit

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// Refused says why something cannot be tapped, and what to do.
type Refused struct{ Text string }

func (r *Refused) Error() string { return r.Text }

func refuse(format string, a ...any) error { return &Refused{fmt.Sprintf(format, a...)} }

// Bounds of what is kept.
const (
	mostText  = 40   // bytes of a code or a material's name
	MostOpen  = 12   // visits open at one time: each takes time to play through
	mostTaps  = 200  // of one visit
	oldestTap = 2000 // year: a time before it is a clock that was not set
)

// Check refuses a visit that cannot be started beside those that are open.
func (p *Plan) Check(v *Visit, all []Visit) error {
	if n := p.Count(Chair); v.Chair < 1 || v.Chair > n {
		return refuse("there is no chair %d: the plan has %d", v.Chair, n)
	}
	if v.Case < 0 || len(v.Dentist) > mostText || len(v.Material) > mostText {
		return refuse("the case is a number of the bench, dentist and material are codes of up to %d letters", mostText)
	}
	open := 0
	for i := range all {
		if !all[i].Open() {
			continue
		}
		open++
		if all[i].Chair == v.Chair && p.holdsChair(&all[i]) {
			return refuse("chair %d has visit %d, which is not over: end it or break it off first", v.Chair, all[i].ID)
		}
	}
	if open >= MostOpen {
		return refuse("%d visits are open: end or break off those that are over", open)
	}
	return nil
}

// holdsChair reports whether the patient of an open visit sits in its chair:
// not while a stage runs that does not hold it.
func (p *Plan) holdsChair(v *Visit) bool {
	f := p.Following(v)
	s, ok := p.Stage(f.Now().Stage)
	return !ok || s.Has(Chair)
}

// First is the tap that begins a visit: its first stage.
func (p *Plan) First(material string) Tap {
	return Tap{Kind: KindStage, Stage: p.For(material)[0].Name}
}

// Advance is the next tap of a visit: the next stage, or its end.
func (p *Plan) Advance(v *Visit) (Tap, error) {
	if err := ongoing(v); err != nil {
		return Tap{}, err
	}
	f := p.Following(v)
	if f.Next == "" {
		return Tap{Visit: v.ID, Kind: KindEnd}, nil
	}
	return Tap{Visit: v.ID, Kind: KindStage, Stage: f.Next}, nil
}

// Going is a tap of going back.
func (p *Plan) Going(v *Visit, back string) (Tap, error) {
	if err := ongoing(v); err != nil {
		return Tap{}, err
	}
	b, ok := p.Back(back)
	if !ok {
		return Tap{}, refuse("there is no going back %q: it is one of %s", back, strings.Join(p.backNames(), ", "))
	}
	f := p.Following(v)
	if !slices.ContainsFunc(f.Runs, func(r Run) bool { return r.Stage == b.To && !r.To.IsZero() }) {
		s, _ := p.Stage(b.To)
		return Tap{}, refuse("nothing to go back to: %s has not been done in this visit", s.Title)
	}
	return Tap{Visit: v.ID, Kind: KindBack, Stage: b.To, Back: b.Name}, nil
}

// To is a tap that begins a stage out of turn.
func (p *Plan) To(v *Visit, stage string) (Tap, error) {
	if err := ongoing(v); err != nil {
		return Tap{}, err
	}
	if !slices.ContainsFunc(p.For(v.Material), func(s Stage) bool { return s.Name == stage }) {
		return Tap{}, refuse("this visit has no stage %q: it is one of %s", stage, strings.Join(p.stageNames(v.Material), ", "))
	}
	if f := p.Following(v); f.Now().Stage == stage {
		return Tap{}, refuse("%s runs already", stage)
	}
	return Tap{Visit: v.ID, Kind: KindStage, Stage: stage}, nil
}

// Ending is a tap of kind wait, end or leave.
func (p *Plan) Ending(v *Visit, k Kind) (Tap, error) {
	if err := ongoing(v); err != nil {
		return Tap{}, err
	}
	if k == KindWait && v.Last().Kind == KindWait {
		return Tap{}, refuse("the visit waits already")
	}
	return Tap{Visit: v.ID, Kind: k}, nil
}

func ongoing(v *Visit) error {
	if !v.Open() {
		return refuse("visit %d is over: start another one, or take its last tap back", v.ID)
	}
	if len(v.Taps) >= mostTaps {
		return refuse("visit %d has %d taps: end it", v.ID, len(v.Taps))
	}
	return nil
}

func (p *Plan) backNames() (out []string) {
	for _, b := range p.Backs {
		out = append(out, b.Name)
	}
	return out
}

func (p *Plan) stageNames(material string) (out []string) {
	for _, s := range p.For(material) {
		out = append(out, s.Name)
	}
	return out
}

// CheckImport refuses a visit whose taps cannot have been: none, not in the
// order of their times, in the future, or a stage without a name.
func CheckImport(v *Visit, now time.Time) error {
	if v.Chair < 1 || len(v.Taps) == 0 || len(v.Taps) > mostTaps {
		return refuse("import a visit of chair %d with %d taps: give a chair from 1 on and 1 to %d taps", v.Chair, len(v.Taps), mostTaps)
	}
	var last time.Time
	for i, t := range v.Taps {
		if t.At.Before(last) || t.At.Year() < oldestTap || t.At.After(now) {
			return refuse("import tap %d: its time %s is before the one before it, before the year %d, or has not come yet", i+1, t.At.Format(time.RFC3339), oldestTap)
		}
		if !t.whole() || i == 0 && t.Kind != KindStage {
			return refuse("import tap %d: the kind %q with stage %q and going back %q; the first tap begins a stage", i+1, t.Kind, t.Stage, t.Back)
		}
		if i > 0 && (v.Taps[i-1].Kind == KindEnd || v.Taps[i-1].Kind == KindLeave) {
			return refuse("import tap %d: the visit was over before", i+1)
		}
		last = t.At
	}
	return nil
}

// whole reports whether a tap has what its kind asks for.
func (t *Tap) whole() bool {
	switch t.Kind {
	case KindStage:
		return t.Stage != "" && t.Back == ""
	case KindBack:
		return t.Stage != "" && t.Back != ""
	case KindWait, KindEnd, KindLeave:
		return t.Stage == "" && t.Back == ""
	}
	return false
}
