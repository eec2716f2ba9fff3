package web

import (
	"context"
	"encoding/json"
	"errors"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"crownassay/practice"
	"crownassay/practice/settings"
	"crownassay/record"
)

// CrownOutput is a crown that was tried in.
type CrownOutput struct {
	Case     int64     `json:"case"`
	Entry    int64     `json:"entry" doc:"Number of the try-in's entry in the case's record."`
	ISO      string    `json:"iso" doc:"Tooth, ISO 3950."`
	Patient  string    `json:"patient"`
	Material string    `json:"material"`
	Dentist  string    `json:"dentist"`
	Date     time.Time `json:"date" doc:"Of the try-in."`
	Contacts []string  `json:"contacts" nullable:"false" doc:"Mesial, distal: how each was felt; empty where none was."`
	AtOnce   *bool     `json:"at_once,omitempty" doc:"Nothing had to be taken off; missing where not all was entered."`
	Remade   bool      `json:"remade"`
	Why      string    `json:"why"`
	Said     string    `json:"said" enum:",conforms,undecided,fails"`
	LastSeen time.Time `json:"last_seen" doc:"The last recall, or the try-in."`
	Ended    string    `json:"ended" doc:"Why it is not in use any more; empty while it is."`
}

type outcomesOutput struct {
	Body struct {
		Outcomes *practice.Outcomes `json:"outcomes"`
		Crowns   []CrownOutput      `json:"crowns" nullable:"false" doc:"The newest first."`
	}
}

type contactsInput struct {
	Scale    string `query:"scale" enum:"designed,setting" default:"designed"`
	Side     string `query:"side" enum:",mesial,distal"`
	Jaw      string `query:"jaw" enum:",upper,lower"`
	Material string `query:"material" maxLength:"64"`
}

type contactsOutput struct{ Body *practice.ContactReport }

type lossesBody struct {
	Body struct {
		Losses settings.Losses `json:"losses" nullable:"false" doc:"Of a contact felt open, light, right and heavy, in any one unit."`
	}
}

type survivalInput struct {
	By string `query:"by" enum:"material,luting,said" default:"material"`
}

type survivalOutput struct{ Body *practice.Survival }

type importInput struct {
	Body struct {
		Who
		File string `json:"file" maxLength:"255" doc:"Name of the file, for messages."`
		Text string `json:"text" maxLength:"8388608" doc:"CSV as the README shows."`
		From int    `json:"from,omitempty" minimum:"0" doc:"How many lines of events to pass over: those that were taken already."`
		Most int    `json:"most,omitempty" minimum:"0" doc:"How many to take at most; 0 for all. All of the table is checked before any line is taken."`
	}
}

type importOutput struct {
	Body struct {
		Cases   int `json:"cases" doc:"Made anew."`
		Entries int `json:"entries" doc:"Kept."`
		Known   int `json:"known" doc:"Lines that were there already."`
		Lines   int `json:"lines" doc:"Of events in the table."`
	}
}

// practice registers what is learned from all crowns.
func (h *handlers) practice(api huma.API) {
	const tag = "practice"
	huma.Register(api, op("get-outcomes", "GET", "/api/practice/outcomes", "What try-ins and recalls came to.", tag, 409), h.outcomes)
	huma.Register(api, op("ask-contacts", "GET", "/api/practice/contacts", "Which designed contact needs no adjusting.", tag, 409, 422), h.contacts)
	huma.Register(api, op("set-losses", "PUT", "/api/practice/losses", "Set what a contact that is not right costs the practice.", tag, 422), h.setLosses)
	huma.Register(api, op("get-survival", "GET", "/api/practice/survival", "How long crowns last.", tag, 409), h.survival)
	o := op("import-crowns", "POST", "/api/practice/imports", "Take earlier crowns from a table.", tag, 409, 413, 422)
	o.MaxBodyBytes = 9 * mostBody
	huma.Register(api, o, h.importCrowns)
}

func (h *handlers) outcomes(ctx context.Context, _ *struct{}) (*outcomesOutput, error) {
	crowns, err := practice.Gather(ctx, h.Store)
	if err != nil {
		return nil, failure(err)
	}
	out := &outcomesOutput{}
	out.Body.Outcomes, out.Body.Crowns = practice.Outcome(crowns), []CrownOutput{}
	for i := len(crowns) - 1; i >= 0; i-- {
		o, err := toCrown(&crowns[i])
		if err != nil {
			return nil, failure(err)
		}
		out.Body.Crowns = append(out.Body.Crowns, o)
	}
	return out, nil
}

func toCrown(c *practice.Crown) (CrownOutput, error) {
	years, end, err := c.Observed()
	o := CrownOutput{Case: c.Case, Entry: c.Entry, ISO: c.Tooth.ISO(), Patient: c.Patient, Material: c.Material, Dentist: c.TryIn.Dentist, Date: c.Date,
		Contacts: []string{"", ""}, Remade: c.TryIn.Remade, Why: c.TryIn.Why, Said: string(c.TryIn.Said), LastSeen: c.After(years), Ended: end}
	for _, f := range c.TryIn.Contacts {
		o.Contacts[map[string]int{"mesial": 0, "distal": 1}[f.Side]] = string(f.Felt)
	}
	if yes, known := c.AtOnce(); known {
		o.AtOnce = &yes
	}
	return o, err
}

// lossesSetting is where the practice's losses are kept.
const lossesSetting = "losses"

func (h *handlers) contacts(ctx context.Context, in *contactsInput) (*contactsOutput, error) {
	q := practice.Question{Scale: practice.Scale(in.Scale), Where: settings.Where{Side: in.Side, Jaw: in.Jaw, Material: in.Material}, Losses: settings.DefaultLosses}
	kept, err := h.Store.Setting(ctx, lossesSetting)
	if err == nil {
		err = json.Unmarshal([]byte(kept), &q.Losses)
	}
	if err != nil && !errors.Is(err, record.ErrNotFound) {
		return nil, failure(err)
	}
	crowns, err := practice.Gather(ctx, h.Store)
	if err != nil {
		return nil, failure(err)
	}
	r, err := h.learner.Ask(ctx, crowns, q)
	return &contactsOutput{r}, failure(err)
}

func (h *handlers) setLosses(ctx context.Context, in *lossesBody) (*lossesBody, error) {
	if err := in.Body.Losses.Check(); err != nil {
		return nil, failure(&Refusal{err.Error()})
	}
	b, err := json.Marshal(in.Body.Losses)
	if err == nil {
		err = h.Store.SetSetting(ctx, lossesSetting, string(b))
	}
	return in, failure(err)
}

func (h *handlers) survival(ctx context.Context, in *survivalInput) (*survivalOutput, error) {
	crowns, err := practice.Gather(ctx, h.Store)
	if err != nil {
		return nil, failure(err)
	}
	s, err := practice.Survive(crowns, practice.Group(in.By))
	return &survivalOutput{s}, failure(err)
}

func (h *handlers) importCrowns(ctx context.Context, in *importInput) (*importOutput, error) {
	rows, err := practice.ReadCSV(in.Body.File, strings.NewReader(in.Body.Text))
	if err != nil {
		return nil, failure(&Refusal{err.Error()})
	}
	who := in.Body.Who.Who
	if who == "" {
		who = h.operator(ctx)
	}
	out := &importOutput{}
	out.Body.Lines = len(rows)
	rows = rows[min(in.Body.From, len(rows)):]
	if in.Body.Most > 0 {
		rows = rows[:min(in.Body.Most, len(rows))]
	}
	did, err := practice.Import(ctx, h.Store, rows, who, nil)
	if err != nil {
		return nil, failure(err)
	}
	out.Body.Cases, out.Body.Entries, out.Body.Known = did.Cases, did.Entries, did.Known
	return out, nil
}
