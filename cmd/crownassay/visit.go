package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"time"

	"crownassay/internal/ctxio"
	"crownassay/practice/visit"
	"crownassay/record"
	"crownassay/sqlite"
)

// visitCommand is the visit in which a crown is made: tapped, planned, booked.
type visitCommand struct {
	Now     visitNow     `cmd:"" default:"withargs" help:"Say when the visits in hand will be ready, and who waits for what."`
	Start   visitStart   `cmd:"" help:"Begin a visit on a chair: its first stage runs."`
	Next    visitNext    `cmd:"" help:"Tap: the stage that runs ends and the next one begins."`
	Back    visitBack    `cmd:"" help:"Tap that something is done again."`
	Wait    visitWait    `cmd:"" help:"Tap that the stage ends and nothing runs yet."`
	End     visitEnd     `cmd:"" help:"End a visit, or break it off."`
	Undo    visitUndo    `cmd:"" help:"Take the newest tap of a visit back."`
	Book    visitBook    `cmd:"" help:"Say how long has to be booked for a visit."`
	Learned visitLearned `cmd:"" help:"Show what was learned: durations, going back, what was left out."`
	List    visitList    `cmd:"" help:"List visits with their taps."`
	Import  visitImport  `cmd:"" help:"Read visits that were noted elsewhere, with their times."`
	Plan    visitPlan    `cmd:"" help:"Show the plan of the visit, or keep the practice's own."`
}

// openRoom opens the bench's store with its plan of the visit.
func (f *benchFlags) openRoom(ctx context.Context) (*visit.Room, *sqlite.Store, error) {
	dir, err := f.dir()
	if err != nil {
		return nil, nil, err
	}
	s, err := sqlite.Open(ctx, dir, nil)
	if err != nil {
		return nil, nil, err
	}
	text, err := s.Setting(ctx, visit.PlanSetting)
	if errors.Is(err, record.ErrNotFound) {
		text, err = "", nil
	}
	var p *visit.Plan
	if err == nil {
		p, err = visit.Kept(text)
	}
	if err != nil {
		return nil, nil, errors.Join(err, s.Close())
	}
	return &visit.Room{Store: s, Plan: p}, s, nil
}

// inRoom opens the room, does something in it and closes it.
func (f *benchFlags) inRoom(p *program, do func(*visit.Room, *sqlite.Store) error) error {
	r, s, err := f.openRoom(p.ctx)
	if err != nil {
		return err
	}
	return errors.Join(do(r, s), s.Close())
}

// document prints one JSON document.
func (p *program) document(v any) error {
	e := json.NewEncoder(p.stdout)
	e.SetEscapeHTML(false)
	return e.Encode(v)
}

type visitNow struct {
	benchFlags
	JSON bool `name:"json" help:"Print one JSON document instead of text."`
}

// Run plays what is left of the visits in hand.
func (c *visitNow) Run(p *program) error {
	return c.inRoom(p, func(r *visit.Room, _ *sqlite.Store) error { return now(p, r, c.JSON) })
}

// now prints the plan of the open visits.
func now(p *program, r *visit.Room, asJSON bool) error {
	f, err := r.Now(p.ctx, time.Now().UTC())
	if err != nil {
		return err
	}
	if asJSON {
		return p.document(f)
	}
	return f.WriteText(p.stdout, time.Local)
}

type visitStart struct {
	benchFlags
	Chair    int    `required:"" placeholder:"N" help:"Chair, 1 and up."`
	Case     int64  `placeholder:"N" help:"Number of the case on the bench."`
	Dentist  string `placeholder:"CODE" help:"Code of the dentist."`
	Material string `placeholder:"NAME" help:"Material of the crown; by default that of the case."`
	Stage    string `placeholder:"NAME" help:"Stage to begin with; by default the first."`
	JSON     bool   `name:"json" help:"Print one JSON document instead of text."`
}

// Run begins a visit.
func (c *visitStart) Run(p *program) error {
	return c.inRoom(p, func(r *visit.Room, s *sqlite.Store) error {
		if c.Case != 0 && c.Material == "" {
			k, err := s.Case(p.ctx, c.Case)
			if err != nil {
				return err
			}
			c.Material = k.Material
		}
		if _, err := r.Start(p.ctx, visit.Visit{Chair: c.Chair, Case: c.Case, Dentist: c.Dentist, Material: c.Material}, c.Stage); err != nil {
			return err
		}
		return now(p, r, c.JSON)
	})
}

// whichVisit says which open visit is meant.
type whichVisit struct {
	benchFlags
	Chair int   `placeholder:"N" help:"The open visit of this chair; may be left out when one is open."`
	Visit int64 `placeholder:"N" help:"Number of the visit."`
	JSON  bool  `name:"json" help:"Print one JSON document instead of text."`
}

// find returns the number of the visit that is meant.
func (w *whichVisit) find(ctx context.Context, r *visit.Room) (int64, error) {
	if w.Visit != 0 {
		return w.Visit, nil
	}
	all, err := r.Store.Visits(ctx)
	if err != nil {
		return 0, err
	}
	var found []int64
	for i := range all {
		if all[i].Open() && (w.Chair == 0 || all[i].Chair == w.Chair) {
			found = append(found, all[i].ID)
		}
	}
	switch {
	case len(found) == 1:
		return found[0], nil
	case len(found) > 1:
		return 0, fmt.Errorf("find the visit: the visits %d are open; say which with --chair or --visit", found)
	case w.Chair != 0:
		return 0, fmt.Errorf("find the visit of chair %d: none is open there; begin one with \"crownassay visit start --chair %d\"", w.Chair, w.Chair)
	}
	return 0, errors.New("find the visit: none is open; begin one with \"crownassay visit start --chair 1\"")
}

// press taps and prints the plan.
func (w *whichVisit) press(p *program, press visit.Press) error {
	return w.inRoom(p, func(r *visit.Room, _ *sqlite.Store) error {
		id, err := w.find(p.ctx, r)
		if err != nil {
			return err
		}
		if _, err := r.Tap(p.ctx, id, press); err != nil {
			return err
		}
		return now(p, r, w.JSON)
	})
}

type visitNext struct {
	whichVisit
	Stage string `arg:"" optional:"" help:"Another stage than the next, by its name."`
}

// Run begins the next stage.
func (c *visitNext) Run(p *program) error {
	if c.Stage != "" {
		return c.press(p, visit.Press{Kind: visit.KindStage, Stage: c.Stage})
	}
	return c.press(p, visit.Press{})
}

type visitBack struct {
	whichVisit
	Kind string `arg:"" help:"Kind of going back: more-reduction, another-scan, remake, or one of the practice's own plan."`
}

// Run goes back.
func (c *visitBack) Run(p *program) error {
	return c.press(p, visit.Press{Kind: visit.KindBack, Back: c.Kind})
}

type visitWait struct{ whichVisit }

// Run ends the stage that runs.
func (c *visitWait) Run(p *program) error { return c.press(p, visit.Press{Kind: visit.KindWait}) }

type visitEnd struct {
	whichVisit
	BrokenOff bool `help:"It was broken off: nothing is learned of the stage that ran."`
}

// Run ends a visit.
func (c *visitEnd) Run(p *program) error {
	k := visit.KindEnd
	if c.BrokenOff {
		k = visit.KindLeave
	}
	return c.press(p, visit.Press{Kind: k})
}

type visitUndo struct {
	whichVisit
	Reason string `placeholder:"TEXT" help:"Why the tap does not hold."`
}

// Run takes a tap back.
func (c *visitUndo) Run(p *program) error {
	return c.inRoom(p, func(r *visit.Room, _ *sqlite.Store) error {
		id, err := c.find(p.ctx, r)
		if err != nil {
			return err
		}
		if _, err := r.Undo(p.ctx, id, 0, c.Reason); err != nil {
			return err
		}
		return now(p, r, c.JSON)
	})
}

type visitBook struct {
	benchFlags
	Material string  `placeholder:"NAME" help:"Material of the crown."`
	Chair    int     `default:"1" help:"Chair, 1 and up."`
	Dentist  string  `placeholder:"CODE" help:"Code of the dentist."`
	At       string  `placeholder:"TIME" help:"When it begins, such as 14:30 or 2026-05-31T14:30; by default now."`
	Sure     float64 `default:"0.9" help:"Probability that the time suffices."`
	Alone    bool    `help:"Leave the visits that are open out: for a booking on another day."`
	JSON     bool    `name:"json" help:"Print one JSON document instead of text."`
}

// Run says how long has to be booked.
func (c *visitBook) Run(p *program) error {
	at := time.Now()
	begins, err := momentOf(c.At, at)
	if err != nil {
		return err
	}
	return c.inRoom(p, func(r *visit.Room, _ *sqlite.Store) error {
		b, err := r.Book(p.ctx, at.UTC(), visit.Wanted{Chair: c.Chair, Dentist: c.Dentist, Material: c.Material, At: begins.UTC(), Alone: c.Alone, Sure: c.Sure})
		if err != nil {
			return err
		}
		if c.JSON {
			return p.document(b)
		}
		return b.WriteText(p.stdout, time.Local)
	})
}

// momentOf reads a time of today or of another day, in the machine's own time.
func momentOf(s string, now time.Time) (time.Time, error) {
	if s == "" {
		return now, nil
	}
	if t, err := time.ParseInLocation("2006-01-02T15:04", s, time.Local); err == nil {
		return t, nil
	}
	t, err := time.ParseInLocation("15:04", s, time.Local)
	if err != nil {
		return t, fmt.Errorf("read --at %s: no time; write it as 14:30 or 2026-05-31T14:30", s)
	}
	y, m, d := now.Date()
	return time.Date(y, m, d, t.Hour(), t.Minute(), 0, 0, time.Local), nil
}

type visitLearned struct {
	benchFlags
	JSON bool `name:"json" help:"Print one JSON document instead of text."`
}

// Run shows what was learned.
func (c *visitLearned) Run(p *program) error {
	return c.inRoom(p, func(r *visit.Room, s *sqlite.Store) error {
		all, err := s.Visits(p.ctx)
		if err != nil {
			return err
		}
		l := r.Plan.Learn(all)
		if c.JSON {
			return p.document(l.Document())
		}
		return l.WriteText(p.stdout)
	})
}

type visitList struct {
	benchFlags
	Last int  `default:"20" placeholder:"N" help:"The newest N visits."`
	JSON bool `name:"json" help:"Print one JSON document instead of text."`
}

// Run lists visits.
func (c *visitList) Run(p *program) error {
	return c.inRoom(p, func(r *visit.Room, s *sqlite.Store) error {
		all, err := s.Visits(p.ctx)
		if err != nil {
			return err
		}
		if len(all) > c.Last && c.Last >= 0 {
			all = all[len(all)-c.Last:]
		}
		if c.JSON {
			return p.document(visit.Documents(all))
		}
		return visit.WriteVisits(p.stdout, r.Plan, all, time.Local)
	})
}

type visitImport struct {
	benchFlags
	File string `arg:"" help:"JSON file in the form of \"visit list --json\"; the numbers of visits and taps are not read."`
}

// Run reads visits from a file.
func (c *visitImport) Run(p *program) error {
	f, err := os.Open(c.File)
	if err != nil {
		return fmt.Errorf("read visits: %w", err)
	}
	defer f.Close()
	visits, err := visit.ReadVisits(ctxio.Reader(p.ctx, f))
	if err != nil {
		return fmt.Errorf("read visits from %s: %w", c.File, err)
	}
	return c.inRoom(p, func(r *visit.Room, _ *sqlite.Store) error {
		n, err := r.Import(p.ctx, visits)
		fmt.Fprintf(p.stdout, "%d of %d visits were kept; the others were there already or not reached.\n", n, len(visits))
		if err != nil {
			return fmt.Errorf("import %s: %w", c.File, err)
		}
		return nil
	})
}

type visitPlan struct {
	benchFlags
	Own     string `placeholder:"FILE" help:"Keep this YAML file as the practice's own plan, laid over the default."`
	Default bool   `help:"Forget the practice's own plan."`
	JSON    bool   `name:"json" help:"Print one JSON document instead of YAML."`
}

// Run shows or keeps the plan.
func (c *visitPlan) Run(p *program) error {
	return c.inRoom(p, func(r *visit.Room, s *sqlite.Store) error {
		if c.Own != "" && c.Default {
			return errors.New("keep a plan: give --own FILE or --default, not both")
		}
		if c.Own != "" || c.Default {
			var text []byte
			var err error
			if c.Own != "" {
				if text, err = os.ReadFile(c.Own); err != nil {
					return fmt.Errorf("read plan of the visit: %w", err)
				}
			}
			if r.Plan, err = visit.With(c.Own, string(text)); err != nil {
				return err
			}
			if err := s.SetSetting(p.ctx, visit.PlanSetting, string(text)); err != nil {
				return err
			}
		}
		if c.JSON {
			return p.document(r.Plan)
		}
		return r.Plan.WriteYAML(p.stdout)
	})
}
