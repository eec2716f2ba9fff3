package visit

import (
	"strings"
	"testing"
	"time"
)

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

// taps writes the taps of a visit: the minutes since noon, then what was
// tapped: a stage, <kind of going back, or wait, end, leave.
func taps(p *Plan, minutes float64, what string, more ...any) []Tap {
	t := Tap{ID: int64(1 + minutes*10), Kind: KindStage, Stage: what, At: noon.Add(long(minutes))}
	switch {
	case what == "wait" || what == "end" || what == "leave":
		t.Kind, t.Stage = Kind(what), ""
	case strings.HasPrefix(what, "<"):
		b, _ := p.Back(what[1:])
		t.Kind, t.Stage, t.Back = KindBack, b.To, b.Name
	}
	out := []Tap{t}
	if len(more) > 0 {
		out = append(out, taps(p, float64(more[0].(int)), more[1].(string), more[2:]...)...)
	}
	return out
}

func TestFollowing(t *testing.T) {
	p := Default()
	v := &Visit{ID: 1, Chair: 1, Material: "zirconia-3y"}
	v.Taps = taps(p, 0, "anaesthesia", 4, "removal", 12, "preparation", 30, "wait", 33, "retraction", 38, "impression", 44, "<more-reduction", 50, "retraction")
	f := p.Following(v)
	if f.Now().Stage != "retraction" || !f.Now().Again || f.Next != "impression" {
		t.Errorf("now %+v, next %s", f.Now(), f.Next)
	}
	if f.Done["impression"] || !f.Done["preparation"] || !f.Done["onset"] {
		t.Errorf("done = %v, want preparation, and onset as passed over", f.Done)
	}
	if m := f.Runs[2].Minutes(); m != 18 {
		t.Errorf("preparation lasted %g, want 18: waiting is none of it", m)
	}
	if f.Runs[4].Back != "more-reduction" {
		t.Errorf("impression ended by %q", f.Runs[4].Back)
	}
	// the last tap is taken back
	v.Taps[len(v.Taps)-1].Withdrawn = "taken back"
	if f := p.Following(v); f.Now().Stage != "preparation" || f.Next != "retraction" {
		t.Errorf("after taking back: now %s, next %s", f.Now().Stage, f.Next)
	}
}

func TestLeftOut(t *testing.T) {
	p := Default()
	a := Visit{ID: 1, Material: "leucite", Taps: taps(p, 0, "anaesthesia", 5, "removal", 900, "preparation", 915, "leave")}
	b := Visit{ID: 2, Material: "leucite", Taps: []Tap{
		{Kind: KindStage, Stage: "anaesthesia", At: noon}, {Kind: KindStage, Stage: "removal", At: noon.Add(2 * time.Second)}}}
	l := p.Learn([]Visit{a, b})
	want := []struct {
		visit      int64
		stage, why string
	}{
		{1, "removal", "it lasted 14 h 55 min, longer than the 2 h 0 min that the plan gives as its longest: it was left running"},
		{1, "preparation", "the visit was broken off"},
		{2, "anaesthesia", "it lasted less than six seconds: it was tapped through"},
	}
	if len(l.LeftOut) != len(want) {
		t.Fatalf("left out %+v", l.LeftOut)
	}
	for i, w := range want {
		if got := l.LeftOut[i]; got.Visit != w.visit || got.Stage != w.stage || got.Why != w.why {
			t.Errorf("left out %+v, want %+v", got, w)
		}
	}
	for _, d := range l.Durations() {
		own := 0
		if d.Stage == "anaesthesia" {
			own = 1
		}
		if d.Own != own {
			t.Errorf("%s has %d own runs, want %d", d.Stage, d.Own, own)
		}
	}
}

// TestTapping goes through a whole visit by one tap a stage.
func TestTapping(t *testing.T) {
	p := Default()
	v := &Visit{ID: 1, Chair: 1, Material: "lithium-disilicate"}
	if _, err := p.Advance(v); err == nil {
		t.Error("a visit that has not begun was advanced")
	}
	next := p.First(v.Material)
	var went []string
	for i := 0; v.Taps == nil || v.Open(); i++ {
		next.ID, next.At = int64(i+1), noon.Add(time.Duration(i)*time.Minute)
		v.Taps = append(v.Taps, next)
		went = append(went, string(next.Kind)+next.Stage)
		next, _ = p.Advance(v)
	}
	if got, want := strings.Join(went, " "), "stage"+strings.Join(p.stageNames(v.Material), " stage")+" end"; got != want {
		t.Errorf("went %s, want %s", got, want)
	}
	v.Taps = v.Taps[:4] // preparation runs
	for _, c := range []struct {
		name string
		try  func() (Tap, error)
		want string
	}{
		{"remake", func() (Tap, error) { return p.Going(v, "remake") }, "Margin marked and crown designed has not been done"},
		{"sing", func() (Tap, error) { return p.Going(v, "sing") }, "it is one of more-reduction"},
		{"glaze", func() (Tap, error) { return p.To(v, "glaze") }, `this visit has no stage "glaze"`},
		{"preparation", func() (Tap, error) { return p.To(v, "preparation") }, "runs already"},
	} {
		if _, err := c.try(); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want %s", c.name, err, c.want)
		}
	}
	all := []Visit{*v}
	if err := p.Check(&Visit{Chair: 1}, all); err == nil || !strings.Contains(err.Error(), "chair 1 has visit 1") {
		t.Errorf("a second visit on the chair: %v", err)
	}
	if err := p.Check(&Visit{Chair: 3}, all); err == nil {
		t.Error("a chair that is not there was taken")
	}
	if err := p.Check(&Visit{Chair: 2}, all); err != nil {
		t.Error(err)
	}
}

func TestCheckImport(t *testing.T) {
	p := Default()
	good := taps(p, 0, "anaesthesia", 5, "removal", 9, "end")
	if err := CheckImport(&Visit{Chair: 1, Taps: good}, noon.Add(time.Hour)); err != nil {
		t.Error(err)
	}
	for name, c := range map[string][]Tap{
		"none":     nil,
		"order":    taps(p, 5, "anaesthesia", 4, "end"),
		"future":   taps(p, 0, "anaesthesia", 90, "end"),
		"first":    taps(p, 0, "end"),
		"after":    taps(p, 0, "anaesthesia", 4, "end", 5, "removal"),
		"unstated": {{Kind: KindBack, At: noon}},
	} {
		if err := CheckImport(&Visit{Chair: 1, Taps: c}, noon.Add(time.Hour)); err == nil {
			t.Errorf("%s was not refused", name)
		}
	}
}
