package record

import (
	"context"
	"errors"
	"strings"
	"testing"

	"crownassay/conformity"
	"crownassay/luting"
)

// TestLute keeps a choice of luting with what the rules say of it by the run,
// and reads and verifies it again.
func TestLute(t *testing.T) {
	ctx, f := context.Background(), filled(t)
	all, err := Entries(ctx, f)
	if err != nil {
		t.Fatal(err)
	}
	s := Stand(all)
	doc, _, err := f.Document(ctx, s.Run.Run)
	if err != nil {
		t.Fatal(err)
	}
	d, err := ReadDocument(doc)
	if err != nil {
		t.Fatal(err)
	}
	limits, rules, deep := conformity.BuiltIn(), luting.BuiltIn(), 0.4
	choice := LutingChoice{Family: "adhesive-resin", Date: "2026-03-01", Who: "AB", Remark: "dam held", Entered: luting.Entered{Isolation: "rubber-dam", Depth: &deep, Substrate: "dentine"}}
	e, err := s.Lute(d, limits, rules, choice)
	if err == nil {
		_, err = f.Append(ctx, e)
	}
	if err != nil {
		t.Fatal(err)
	}
	if all, err = Entries(ctx, f); err != nil {
		t.Fatal(err)
	}
	if _, err := Verify(ctx, f); err != nil {
		t.Error(err)
	}
	got := Stand(all).Luting
	if got == nil || got.Luting.Said != luting.Supported || got.Luting.Run != 1 || got.Luting.Rules != rules.Hash || got.Luting.OwnRules != "" || *got.Luting.Depth != 0.4 {
		t.Fatalf("kept as %+v", got)
	}
	want := "luting 2026-03-01: adhesive-resin, supported by the rules, looking at entry 1, isolation rubber-dam, finish line 0.4 mm below the gingiva, substrate dentine: dam held"
	if s := got.Luting.Text(); s != want {
		t.Errorf("says %q\nwant %q", s, want)
	}
	for want, change := range map[string]func(*LutingChoice){
		`find luting family "glue": not in the rules; use one of adhesive-resin`: func(c *LutingChoice) { c.Family = "glue" },
		`unknown isolation "dam"`: func(c *LutingChoice) { c.Entered.Isolation = "dam" },
		`"1 March" is no date`:    func(c *LutingChoice) { c.Date = "1 March" },
		"say who":                 func(c *LutingChoice) { c.Who = "" },
	} {
		c := choice
		change(&c)
		e, err := s.Lute(d, limits, rules, c)
		if err == nil {
			_, err = f.Append(ctx, e)
		}
		var no *Unfit
		if !errors.As(err, &no) || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %s", err, want)
		}
	}
}

// TestLutingIsWhole: a choice names the run and the rules that it was judged
// by, or neither; and the run is one.
func TestLutingIsWhole(t *testing.T) {
	hash := Hash(nil)
	for _, c := range []struct {
		e  LutingEntry
		ok bool
	}{
		{LutingEntry{Date: "2026-03-01", Family: "zinc-phosphate"}, true},
		{LutingEntry{Date: "2026-03-01", Family: "zinc-phosphate", Said: luting.Supported, Run: 1, Rules: hash}, true},
		{LutingEntry{Date: "2026-03-01", Family: "zinc-phosphate", Said: luting.Supported}, false},
		{LutingEntry{Date: "2026-03-01", Family: "zinc-phosphate", Said: luting.Supported, Run: 1, Rules: "x"}, false},
		{LutingEntry{Date: "2026-03-01", Family: "zinc-phosphate", Run: 1}, false},
		{LutingEntry{Date: "2026-03-01", Family: "zinc-phosphate", Said: "yes", Run: 1, Rules: hash}, false},
		{LutingEntry{Date: "2026-03-01"}, false},
	} {
		if err := c.e.check(); (err == nil) != c.ok {
			t.Errorf("%+v: %v", c.e, err)
		}
	}
	ctx, f := context.Background(), filled(t)
	e := Entry{Kind: KindLuting, Who: "AB", Luting: &LutingEntry{Date: "2026-03-01", Family: "zinc-phosphate", Said: luting.Supported, Run: 2, Rules: hash}}
	if _, err := f.Append(ctx, e); err == nil || !strings.Contains(err.Error(), "speaks of entry 2 as a run") {
		t.Errorf("a choice that looked at a lot: %v", err)
	}
}
