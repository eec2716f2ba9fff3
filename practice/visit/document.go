package visit

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/goccy/go-yaml"
)

// Lessons is what was learned as a document.
type Lessons struct {
	Durations []Duration `json:"durations" nullable:"false"`
	Chances   []Chance   `json:"chances" nullable:"false"`
	LeftOut   []LeftOut  `json:"left_out" nullable:"false"`
}

// Document is what was learned, without what it is worked out from.
func (l *Learned) Document() *Lessons {
	return &Lessons{l.Durations(), append([]Chance{}, l.Chances...), append([]LeftOut{}, l.LeftOut...)}
}

// VisitDocument is a visit with its taps.
type VisitDocument struct {
	ID       int64         `json:"id"`
	Chair    int           `json:"chair"`
	Case     int64         `json:"case"`
	Dentist  string        `json:"dentist"`
	Material string        `json:"material"`
	Open     bool          `json:"open"`
	Taps     []TapDocument `json:"taps" nullable:"false"`
}

// TapDocument is one tap.
type TapDocument struct {
	ID        int64     `json:"id"`
	Kind      Kind      `json:"kind"`
	Stage     string    `json:"stage"`
	Back      string    `json:"back"`
	At        time.Time `json:"at"`
	Withdrawn string    `json:"withdrawn"`
}

// Documents are visits with their taps.
func Documents(all []Visit) []VisitDocument {
	out := make([]VisitDocument, len(all))
	for i := range all {
		v := &all[i]
		out[i] = VisitDocument{v.ID, v.Chair, v.Case, v.Dentist, v.Material, v.Open(), []TapDocument{}}
		for _, t := range v.Taps {
			out[i].Taps = append(out[i].Taps, TapDocument{t.ID, t.Kind, t.Stage, t.Back, t.At, t.Withdrawn})
		}
	}
	return out
}

// ReadVisits reads visits in the form that Documents has. Taps that were taken
// back are left out.
func ReadVisits(r io.Reader) ([]Visit, error) {
	d := json.NewDecoder(r)
	d.DisallowUnknownFields()
	var docs []VisitDocument
	if err := d.Decode(&docs); err != nil {
		return nil, fmt.Errorf("%w; it has to have the form of \"crownassay visit list --json\"", err)
	}
	var out []Visit
	for _, v := range docs {
		w := Visit{Chair: v.Chair, Case: v.Case, Dentist: v.Dentist, Material: v.Material}
		for _, t := range v.Taps {
			if t.Withdrawn == "" {
				w.Taps = append(w.Taps, Tap{Kind: t.Kind, Stage: t.Stage, Back: t.Back, At: t.At})
			}
		}
		out = append(out, w)
	}
	return out, nil
}

// WriteVisits writes visits, each with its stages and how long they lasted.
func WriteVisits(w io.Writer, p *Plan, all []Visit, in *time.Location) error {
	t := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	fmt.Fprintln(t, "visit\tbegan\tchair\tmaterial\tstate\tstages, minutes")
	for i := range all {
		v := &all[i]
		state := "open"
		switch v.Last().Kind {
		case KindEnd:
			state = "ended"
		case KindLeave:
			state = "broken off"
		case "":
			state = "taken back"
		}
		var runs []string
		for _, r := range p.Following(v).Runs {
			if r.To.IsZero() {
				runs = append(runs, r.Stage+" runs")
			} else {
				runs = append(runs, fmt.Sprintf("%s %.1f", r.Stage, r.Minutes()))
			}
		}
		fmt.Fprintf(t, "%d\t%s\t%d\t%s\t%s\t%s\n", v.ID, v.Begun().In(in).Format("2006-01-02 15:04"), v.Chair, v.Material, state, strings.Join(runs, ", "))
	}
	return t.Flush()
}

// WriteYAML writes the plan as it holds, in the form of a practice's own file.
func (p *Plan) WriteYAML(w io.Writer) error {
	text, err := yaml.Marshal(p)
	if err != nil {
		return err
	}
	_, err = w.Write(text)
	return err
}
