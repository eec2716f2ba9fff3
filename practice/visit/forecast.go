package visit

import (
	"context"
	"math"
	"slices"
	"time"

	"crownassay/internal/par"
)

// How much is played.
const (
	Draws       = 4000     // of what is left: 90 % is then met within half a per cent (binomial standard error)
	effectDraws = 6000     // of what going back changes, shared by all kinds and visits
	effectMost  = 1000     // of one kind in one visit
	effectLeast = 200      // of one kind in one visit: 90 % is then met within 2 % (binomial standard error)
	drawsSeed   = 20261127 // any number: the same one always, so that the same taps give the same answer
	drawsChunk  = 250      // draws that one worker plays at a time
)

// Spread is what a duration or a time may become, minutes from now.
type Spread struct {
	P10 float64 `json:"p10"`
	P50 float64 `json:"p50"`
	P80 float64 `json:"p80"`
	P90 float64 `json:"p90"`
	P95 float64 `json:"p95"`
}

// Moments are the times of a spread.
type Moments struct {
	P50 time.Time `json:"p50"`
	P80 time.Time `json:"p80"`
	P90 time.Time `json:"p90"`
	P95 time.Time `json:"p95"`
}

// Forecast is the plan of all open visits at a moment.
type Forecast struct {
	At        time.Time    `json:"at"`
	Draws     int          `json:"draws"`
	Visits    []Outlook    `json:"visits" nullable:"false"`
	Windows   []Window     `json:"windows" nullable:"false"`   // in which a dentist has nothing to do at a chair
	Conflicts []Conflict   `json:"conflicts" nullable:"false"` // the most likely first
	Over      []Overbooked `json:"over" nullable:"false"`      // what is held now by more visits than there is of it
}

// Outlook is one visit: what was, what is and what may be expected.
type Outlook struct {
	Visit    int64      `json:"visit"`
	Chair    int        `json:"chair"`
	Case     int64      `json:"case"`
	Dentist  string     `json:"dentist"`
	Material string     `json:"material"`
	Last     int64      `json:"last"` // the newest tap that holds
	Begun    time.Time  `json:"begun"`
	Stage    string     `json:"stage"`                   // that runs; empty while it waits
	Since    *time.Time `json:"since,omitempty"`         // it runs, or the visit waits
	Next     string     `json:"next"`                    // the stage that the next tap begins; empty when it ends the visit
	Stale    string     `json:"stale"`                   // why it is not planned; empty when it is
	Ready    *Moments   `json:"ready,omitempty"`         // nil when it is not planned
	Left     *Spread    `json:"left,omitempty"`          // minutes until it is ready
	Stages   []Passage  `json:"stages" nullable:"false"` // in order: those that were, the one that is, those to come
	Backs    []Delay    `json:"backs" nullable:"false"`
}

// Passage is a stage on the line of time.
type Passage struct {
	Stage string    `json:"stage"`
	Title string    `json:"title"`
	State string    `json:"state" enum:"done,running,coming"` // done, running or coming
	Again bool      `json:"again"`
	From  time.Time `json:"from"` // of one that is coming: the median
	To    time.Time `json:"to"`   // unless it is done: the median
	Late  time.Time `json:"late"` // its end with 90 %; as To when it is done
}

// Forecast plays what is left of the visits that are open at a time.
func (l *Learned) Forecast(ctx context.Context, all []Visit, at time.Time) (*Forecast, error) {
	f := &Forecast{At: at, Draws: Draws, Visits: []Outlook{}, Windows: []Window{}, Conflicts: []Conflict{}, Over: []Overbooked{}}
	var planned []Visit
	for _, v := range byPriority(all) {
		o := l.outlook(&v, at)
		f.Visits = append(f.Visits, o)
		if o.Stale == "" {
			planned = append(planned, v)
		}
	}
	s := l.set(at, planned)
	p, err := s.play(ctx, Draws)
	if err != nil {
		return nil, err
	}
	for i := range planned {
		o := f.of(planned[i].ID)
		p.fill(i, o)
		if o.Backs, err = l.effects(ctx, p, i); err != nil {
			return nil, err
		}
	}
	f.Windows, f.Conflicts, f.Over = p.windows(), p.conflicts(), s.over()
	return f, nil
}

func (f *Forecast) of(visit int64) *Outlook {
	return &f.Visits[slices.IndexFunc(f.Visits, func(o Outlook) bool { return o.Visit == visit })]
}

// byPriority are the open visits, the one that began first first.
func byPriority(all []Visit) []Visit {
	var out []Visit
	for _, v := range all {
		if v.Open() {
			out = append(out, v)
		}
	}
	slices.SortStableFunc(out, func(a, b Visit) int {
		if c := a.Begun().Compare(b.Begun()); c != 0 {
			return c
		}
		return int(a.ID - b.ID)
	})
	return out
}

// outlook is what is known of a visit without playing.
func (l *Learned) outlook(v *Visit, at time.Time) Outlook {
	f := l.plan.Following(v)
	last := v.Last()
	o := Outlook{Visit: v.ID, Chair: v.Chair, Case: v.Case, Dentist: v.Dentist, Material: v.Material, Last: last.ID, Begun: v.Begun(),
		Stage: f.Now().Stage, Since: &last.At, Next: f.Next, Stale: l.stale(v, at), Stages: []Passage{}, Backs: []Delay{}}
	for _, r := range f.Runs {
		state, to := "done", r.To
		if r.To.IsZero() {
			state, to = "running", at
		}
		o.Stages = append(o.Stages, Passage{r.Stage, l.title(r.Stage), state, r.Again, r.From, to, to})
	}
	return o
}

func (l *Learned) title(stage string) string {
	if s, ok := l.plan.Stage(stage); ok {
		return s.Title
	}
	return stage
}

// played is what all draws of a scene have given.
type played struct {
	*scene
	n          int
	begin, end [][][]float64 // of each job and task, by draw
	finish     [][]float64   // of each job, by draw
	went       [][][]uint8   // of each job and going, by draw: times it happened
	waits      [][]wait      // by draw
	free       [][][]span    // of each job and task by draw: the dentist's window from the task's beginning
}

// play plays the scene n times.
func (s *scene) play(ctx context.Context, n int) (*played, error) {
	p := &played{scene: s, n: n, waits: make([][]wait, n)}
	for i := range s.jobs {
		k := len(s.jobs[i].tasks)
		p.begin, p.end, p.free = append(p.begin, table[float64](k, n)), append(p.end, table[float64](k, n)), append(p.free, table[span](k, n))
		p.finish, p.went = append(p.finish, make([]float64, n)), append(p.went, table[uint8](len(s.jobs[i].goings), n))
	}
	err := par.Do(ctx, n, drawsChunk, func(lo, hi int) {
		e := newEngine(&s.model, drawsSeed)
		for d := lo; d < hi; d++ {
			e.play(uint64(d))
			p.note(e, d)
		}
	})
	return p, err
}

func table[T any](rows, n int) [][]T {
	out := make([][]T, rows)
	for i := range out {
		out[i] = make([]T, n)
	}
	return out
}

// note keeps what one draw has given.
func (p *played) note(e *engine, d int) {
	p.waits[d] = slices.Clone(e.waits)
	for i := range e.jobs {
		p.finish[i][d] = e.jobs[i].finish
		for g, k := range e.jobs[i].went {
			p.went[i][g][d] = uint8(k)
		}
		for t, k := range e.jobs[i].tasks {
			p.begin[i][t][d], p.end[i][t][d] = k.begin, k.end
		}
		p.noteFree(e, i, d)
	}
}

// quantile is the smallest value that a share p of them is no larger than.
func quantile(sorted []float64, p float64) float64 {
	return sorted[max(0, min(len(sorted)-1, int(math.Ceil(p*float64(len(sorted))-1e-9))-1))]
}

func spreadOf(values []float64) Spread {
	v := slices.Clone(values)
	slices.Sort(v)
	return Spread{quantile(v, 0.1), quantile(v, 0.5), quantile(v, 0.8), quantile(v, 0.9), quantile(v, 0.95)}
}

// fill gives an outlook what was played of its visit.
func (p *played) fill(i int, o *Outlook) {
	left := spreadOf(p.finish[i])
	o.Left = &left
	o.Ready = &Moments{p.moment(left.P50), p.moment(left.P80), p.moment(left.P90), p.moment(left.P95)}
	for t, st := range p.stages[i] {
		k := p.jobs[i].tasks[t]
		if k.done {
			continue
		}
		begin, end := spreadOf(p.begin[i][t]), spreadOf(p.end[i][t])
		if k.running {
			r := &o.Stages[len(o.Stages)-1]
			r.To, r.Late = p.moment(end.P50), p.moment(end.P90)
			continue
		}
		o.Stages = append(o.Stages, Passage{st.Name, st.Title, "coming", k.passes > 0, p.moment(begin.P50), p.moment(end.P50), p.moment(end.P90)})
	}
}

// moment is a time of the clock, to the second.
func (s *scene) moment(minutes float64) time.Time {
	return s.at.Add(long(minutes)).Round(time.Second)
}
