package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"

	"crownassay/internal/text"
	"crownassay/practice"
	"crownassay/practice/settings"
	"crownassay/practice/survival"
)

// practiceCommand is what is learned from all crowns of a bench.
type practiceCommand struct {
	Outcomes practiceOutcomes `cmd:"" help:"Say what try-ins and recalls came to."`
	Contacts practiceContacts `cmd:"" help:"Say which designed contact needs no adjusting, as far as one's own cases tell."`
	Survival practiceSurvival `cmd:"" help:"Say how long crowns last."`
	Import   practiceImport   `cmd:"" help:"Take earlier crowns from a table (CSV)."`
}

// practiceFlags are common to what is asked.
type practiceFlags struct {
	benchFlags
	JSON bool `name:"json" help:"Print one JSON document."`
}

// crowns gathers the crowns of the bench.
func (f *practiceFlags) crowns(p *program) (out []practice.Crown, err error) {
	s, err := f.openStore(p.ctx)
	if err != nil {
		return nil, err
	}
	out, err = practice.Gather(p.ctx, s)
	return out, errors.Join(err, s.Close())
}

// show prints a document, or lines in words.
func (f *practiceFlags) show(p *program, doc any, words func(say func(format string, args ...any))) error {
	if f.JSON {
		e := json.NewEncoder(p.stdout)
		e.SetIndent("", " ")
		return e.Encode(doc)
	}
	var b strings.Builder
	words(func(format string, args ...any) {
		s := fmt.Sprintf(format, args...)
		rest := strings.TrimLeft(s, " ")
		for _, l := range text.Wrap(s[:len(s)-len(rest)], rest, 96) {
			b.WriteString(strings.TrimRight(l, " ") + "\n")
		}
	})
	_, err := fmt.Fprint(p.stdout, b.String())
	return err
}

type practiceOutcomes struct{ practiceFlags }

// Run prints the outcomes.
func (c *practiceOutcomes) Run(p *program) error {
	crowns, err := c.crowns(p)
	if err != nil {
		return err
	}
	o := practice.Outcome(crowns)
	return c.show(p, o, func(say func(string, ...any)) {
		say("%s tried in.", count(o.Crowns, "crown", "crowns"))
		say("Went in with nothing to adjust: %s", shareText(o.AtOnce))
		say("Made again: %s", shareText(o.Remade))
		for _, side := range []string{"mesial", "distal"} {
			say("%s contact: %s", side, sharesText(o.Contacts[side]))
		}
		say("Occlusion: %s", sharesText(o.Occlusion))
		say("Seating: %s", sharesText(o.Seating))
		say("Margin: %s", sharesText(o.Margin))
		say("Seen again, of those delivered: %s", shareText(o.Recalled))
		say("At the last recall, what was not as it should be: %s", sharesText(o.Recall))
		say("Not in use any more: %s", sharesText(o.Ended))
	})
}

// shareText is a share with its interval.
func shareText(c practice.Counted) string {
	if c.Of == 0 {
		return "nobody has entered it yet"
	}
	return fmt.Sprintf("%d of %d, %.0f %% (95 %% interval %.0f to %.0f %%)", c.Found, c.Of, 100*c.Share, 100*c.Low, 100*c.High)
}

func sharesText(all []practice.Counted) string {
	var parts []string
	for _, c := range all {
		if c.Of > 0 {
			parts = append(parts, fmt.Sprintf("%s %d of %d", c.Name, c.Found, c.Of))
		}
	}
	if len(parts) == 0 {
		return "nobody has entered it yet"
	}
	return strings.Join(parts, ", ")
}

type practiceContacts struct {
	practiceFlags
	Scale    string    `enum:"designed,setting" default:"designed" help:"Tightness as measured on the design, or as the design program was set."`
	Side     string    `enum:",mesial,distal" default:"" help:"mesial or distal; both together by default."`
	Jaw      string    `enum:",upper,lower" default:"" help:"upper or lower; both together by default."`
	Material string    `placeholder:"NAME" help:"Of the crown to come; by default one that is not known."`
	Losses   []float64 `placeholder:"OPEN,LIGHT,RIGHT,HEAVY" help:"What contacts cost that are felt so, in any one unit; by default 5,1,0,1."`
}

// Run prints what was learned from contacts.
func (c *practiceContacts) Run(p *program) error {
	q := practice.Question{Scale: practice.Scale(c.Scale), Where: settings.Where{Side: c.Side, Jaw: c.Jaw, Material: c.Material}, Losses: settings.DefaultLosses}
	if len(c.Losses) > 0 && copy(q.Losses[:], c.Losses) != len(q.Losses) {
		return errors.New("read --losses: give four numbers, what an open, a light, a right and a heavy contact cost")
	}
	crowns, err := c.crowns(p)
	if err != nil {
		return err
	}
	var learner practice.Learner
	r, err := learner.Ask(p.ctx, crowns, q)
	if err != nil {
		return err
	}
	return c.show(p, r, func(say func(string, ...any)) {
		say("%s whose %s is known, %d whose is not.", count(r.Contacts, "contact", "contacts"), map[practice.Scale]string{practice.Designed: "design", practice.Set: "setting"}[r.Scale], r.Unknown)
		say("%s", r.Sentence())
		left := 0
		for _, e := range r.Effects {
			if (e.What == "tool" || e.What == "block") && e.Low <= 0 && e.High >= 0 {
				left++
				continue
			}
			say("%s %s: felt %+.0f um tighter at the same design (95 %% interval %+.0f to %+.0f, %s)", e.What, e.Name, whole(e.MM), whole(e.Low), whole(e.High), count(e.Contacts, "contact", "contacts"))
		}
		if left > 0 {
			say("Of %d other tools and block lots nothing of the kind can be told.", left)
		}
		if s := r.DriftSentence(); s != "" {
			say("%s", s)
		}
	})
}

// whole is a length in whole micrometres, without a sign before 0.
func whole(mm float64) float64 { return math.Round(1000*mm) + 0 }

type practiceSurvival struct {
	practiceFlags
	By string `enum:"material,luting,said" default:"material" help:"Compare by material, by luting family, or by what the program had said at delivery."`
}

// Run prints how long crowns last.
func (c *practiceSurvival) Run(p *program) error {
	crowns, err := c.crowns(p)
	if err != nil {
		return err
	}
	s, err := practice.Survive(crowns, practice.Group(c.By))
	if err != nil {
		return err
	}
	return c.show(p, s, func(say func(string, ...any)) {
		lastingText(say, "All crowns", s.All)
		for _, g := range s.Groups {
			name := g.Name
			if name == "" {
				name = "not known"
			}
			lastingText(say, name, g)
		}
		if d := s.Difference; d != nil {
			say("Log-rank between the groups: chi squared %.2f with %d degrees of freedom, p %.3f. Groups were not drawn by lot: a difference need not come from what they are told apart by.", d.ChiSq, d.Freedom, d.P)
		}
		for _, f := range s.Published {
			say("Published, to stand beside and not to be reached: %s, %.1f %% after %d years (%s).", f.What, 100*f.Share, f.Years, f.Source)
		}
	})
}

func lastingText(say func(string, ...any), name string, l *practice.Lasting) {
	say("%s: %s, %d not in use any more", name, count(l.Crowns, "crown", "crowns"), l.Ended)
	for _, y := range l.Years {
		if y.Time > 0 {
			say("  after %.0f years %.1f %% in use (95 %% interval %.1f to %.1f), %d still under observation", y.Time, 100*y.Share, 100*y.Low, 100*y.High, y.Risk)
		}
	}
	for _, k := range l.Lost {
		if n := len(k.Steps); n > 0 {
			say("  lost for %s reasons: %s", k.Cause, lossText(k.Steps[n-1]))
		}
	}
}

func lossText(s survival.Step) string {
	return fmt.Sprintf("%.1f %% after %.1f years (95 %% interval %.1f to %.1f)", 100*s.Share, s.Time, 100*s.Low, 100*s.High)
}

type practiceImport struct {
	benchFlags
	recordWho
	File string `arg:"" type:"existingfile" help:"CSV with a line of column names; the README shows them."`
}

// Run takes earlier crowns from a table.
func (c *practiceImport) Run(p *program) error {
	f, err := os.Open(c.File)
	if err != nil {
		return err
	}
	rows, err := practice.ReadCSV(filepath.Base(c.File), f)
	if err = errors.Join(err, f.Close()); err != nil {
		return err
	}
	dir, err := c.dir()
	if err != nil {
		return err
	}
	b, err := openBench(p.ctx, dir)
	if err != nil {
		return err
	}
	did, err := importRows(p, b, rows, c.Who)
	fmt.Fprintf(p.stdout, "%s made, %s kept, %d lines were there already.\n", count(did.Cases, "case", "cases"), count(did.Entries, "entry", "entries"), did.Known)
	return errors.Join(err, b.close())
}

// importRows keeps rows with progress on a terminal.
func importRows(p *program, b *bench, rows []practice.Row, who string) (practice.Imported, error) {
	tell, end := newProgress(p.ctx, p.stderr)
	defer end()
	var said func(done, total int)
	if tell != nil {
		said = func(done, total int) { tell("earlier crowns", done, total) }
	}
	return practice.Import(p.ctx, b.store, rows, who, said)
}
