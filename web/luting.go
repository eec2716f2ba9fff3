package web

import (
	"context"
	"fmt"
	"path"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"crownassay/conformity"
	"crownassay/luting"
	"crownassay/record"
)

type lutingInput struct {
	CaseNumber
	Isolation string `query:"isolation" enum:"rubber-dam,rolls-and-suction,not-possible" doc:"As entered; left out when it is not known, as with all that follows."`
	Depth     string `query:"depth" pattern:"^-?[0-9]{1,3}([.][0-9]{1,6})?$" doc:"Of the finish line below the gingival margin, mm; below zero above it."`
	Substrate string `query:"substrate" enum:"enamel,dentine,composite,metal" doc:"At the finish line and in what is bonded to; composite and metal are build-ups."`
	Temporary string `query:"temporary" enum:"none,eugenol-free,eugenol" doc:"The cement that held a crown before."`
}

type lutingOutput struct{ Body luting.Judgement }

// lutingRules are the practice's own rules of luting.
type lutingRules struct {
	Body struct {
		File string `json:"file" maxLength:"255" doc:"Name of the file they came from; empty without."`
		Text string `json:"text" maxLength:"262144" doc:"YAML as luting/rules.yaml; empty for the built-in rules alone."`
	}
}

type chooseInput struct {
	CaseNumber
	Body struct {
		Who
		Family    string   `json:"family" maxLength:"64" doc:"Of the luting material, as GET /api/cases/{id}/luting names it."`
		Date      string   `json:"date,omitempty" maxLength:"10" doc:"As 2026-05-31; today where it is left out."`
		Isolation string   `json:"isolation,omitempty" enum:"rubber-dam,rolls-and-suction,not-possible"`
		Depth     *float64 `json:"depth,omitempty" minimum:"-10" maximum:"10" doc:"Of the finish line below the gingival margin, mm."`
		Substrate string   `json:"substrate,omitempty" enum:"enamel,dentine,composite,metal"`
		Temporary string   `json:"temporary,omitempty" enum:"none,eugenol-free,eugenol"`
		Remark    string   `json:"remark,omitempty" maxLength:"2000"`
	}
}

// luting registers how a crown is fixed.
func (h *handlers) luting(api huma.API) {
	const tag = "luting"
	huma.Register(api, op("judge-luting", "GET", "/api/cases/{id}/luting", "By which family of luting material the crown can be fixed, by the newest run and what is entered; with reasons and steps.", tag, 404, 422), h.judgeLuting)
	huma.Register(api, op("get-luting-rules", "GET", "/api/luting-rules", "The practice's own luting rules, which hold for all cases.", tag), h.ownRules)
	huma.Register(api, op("set-luting-rules", "PUT", "/api/luting-rules", "Set the practice's own luting rules, or take them away.", tag, 422), h.setOwnRules)
	o := op("choose-luting", "POST", "/api/cases/{id}/entries/lutings", "Keep by which family the crown is fixed, with what the rules say of it.", "record of a case", 404, 409, 422)
	o.DefaultStatus = 201
	huma.Register(api, o, h.choose)
}

// lutingTables are the limits of a case and the rules of the bench.
func (h *handlers) lutingTables(ctx context.Context, id int64) (*conformity.Limits, *luting.Rules, error) {
	k, err := h.Store.Case(ctx, id)
	if err != nil {
		return nil, nil, err
	}
	l, err := conformity.With(k.Own.File, k.Own.Text)
	if err != nil {
		return nil, nil, err
	}
	o, err := record.LutingRules(ctx, h.Store)
	if err != nil {
		return nil, nil, err
	}
	r, err := luting.With(o.File, o.Text)
	return l, r, err
}

func (h *handlers) judgeLuting(ctx context.Context, in *lutingInput) (*lutingOutput, error) {
	e := luting.Entered{Isolation: in.Isolation, Substrate: in.Substrate, Temporary: in.Temporary}
	if in.Depth != "" {
		d, err := strconv.ParseFloat(in.Depth, 64)
		if err != nil {
			return nil, failure(&Refusal{fmt.Sprintf("read depth %q: give millimetres, as 0.5", in.Depth)})
		}
		e.Depth = &d
	}
	if err := e.Check(); err != nil {
		return nil, failure(&Refusal{err.Error()})
	}
	l, r, err := h.lutingTables(ctx, in.ID)
	if err != nil {
		return nil, failure(err)
	}
	all, err := record.Entries(ctx, h.Store.Book(in.ID))
	if err != nil {
		return nil, failure(err)
	}
	s, d, err := h.newest(ctx, in.ID, all)
	if err != nil {
		return nil, failure(err)
	}
	if s.Run == nil {
		return nil, failure(fmt.Errorf("find a run of case %d: it has not been measured yet: %w", in.ID, record.ErrNotFound))
	}
	c, err := d.Luting(l, e)
	if err != nil {
		return nil, failure(&Refusal{err.Error()})
	}
	v, err := r.Judge(c)
	return &lutingOutput{v}, failure(err)
}

func (h *handlers) ownRules(ctx context.Context, _ *struct{}) (*lutingRules, error) {
	o, err := record.LutingRules(ctx, h.Store)
	out := &lutingRules{}
	out.Body.File, out.Body.Text = o.File, o.Text
	return out, failure(err)
}

func (h *handlers) setOwnRules(ctx context.Context, in *lutingRules) (*lutingRules, error) {
	b := &in.Body
	switch {
	case strings.TrimSpace(b.Text) == "":
		b.File, b.Text = "", ""
	case b.File == "":
		b.File = "luting.yaml"
	default:
		b.File = path.Base(strings.ReplaceAll(b.File, `\`, "/"))
	}
	return in, failure(record.SetLutingRules(ctx, h.Store, record.OwnLimits{File: b.File, Text: b.Text}))
}

func (h *handlers) choose(ctx context.Context, in *chooseInput) (*entryOutput, error) {
	return h.add(ctx, in.ID, in.Body.Who, func(who string, all []record.Sealed) (record.Entry, error) {
		l, r, err := h.lutingTables(ctx, in.ID)
		if err != nil {
			return record.Entry{}, err
		}
		s, d, err := h.newest(ctx, in.ID, all)
		if err != nil {
			return record.Entry{}, err
		}
		b := &in.Body
		return s.Lute(d, l, r, record.LutingChoice{Family: b.Family, Date: b.Date, Remark: b.Remark, Who: who,
			Entered: luting.Entered{Isolation: b.Isolation, Depth: b.Depth, Substrate: b.Substrate, Temporary: b.Temporary}})
	})
}
