package web

import (
	"context"
	"errors"
	"path"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"crownassay/conformity"
	"crownassay/record"
	"crownassay/tooth"
)

type casesOutput struct {
	Body struct {
		Cases []CaseOutput `json:"cases" nullable:"false" doc:"The one changed last first."`
	}
}

type caseOutput struct{ Body CaseOutput }

type newCase struct{ Body NewCase }

// NewCase is a case with the finish line that its folder brings.
type NewCase struct {
	CaseInput
	FinishLine []Point `json:"finish_line,omitempty" minItems:"3" maxItems:"20000" doc:"Traced by the operator: closed, in order around the tooth, mm. Else the program traces it."`
}

type changedCase struct {
	CaseNumber
	Body CaseInput
}

// cases registers what is done with cases.
func (h *handlers) cases(api huma.API) {
	huma.Register(api, op("list-cases", "GET", "/api/cases", "List the cases.", "cases"), h.listCases)
	add := op("add-case", "POST", "/api/cases", "Add a case.", "cases", 422)
	add.DefaultStatus = 201
	huma.Register(api, add, h.addCase)
	huma.Register(api, op("get-case", "GET", "/api/cases/{id}", "One case with its takes.", "cases", 404), h.getCase)
	huma.Register(api, op("change-case", "PUT", "/api/cases/{id}", "Say anew what is known of a case.", "cases", 404, 422), h.changeCase)
}

func (h *handlers) listCases(ctx context.Context, _ *struct{}) (*casesOutput, error) {
	ks, err := h.Store.Cases(ctx)
	if err != nil {
		return nil, failure(err)
	}
	out := &casesOutput{}
	out.Body.Cases = make([]CaseOutput, len(ks))
	for i, k := range ks {
		if out.Body.Cases[i], err = h.whole(ctx, k); err != nil {
			return nil, failure(err)
		}
	}
	return out, nil
}

func (h *handlers) addCase(ctx context.Context, in *newCase) (*caseOutput, error) {
	k, err := in.Body.kept()
	if err != nil {
		return nil, failure(err)
	}
	if k, err = h.Store.AddCase(ctx, k); err != nil {
		return nil, failure(err)
	}
	if len(in.Body.FinishLine) > 0 {
		l := record.Drawn{Case: k.ID, Who: h.operator(ctx)}
		for _, p := range in.Body.FinishLine {
			l.Points = append(l.Points, p.vec())
		}
		if _, err := h.Store.AddLine(ctx, l); err != nil {
			return nil, failure(err)
		}
	}
	return &caseOutput{toCase(k)}, nil
}

func (h *handlers) getCase(ctx context.Context, in *CaseNumber) (*caseOutput, error) {
	k, err := h.Store.Case(ctx, in.ID)
	if err != nil {
		return nil, failure(err)
	}
	c, err := h.whole(ctx, k)
	return &caseOutput{c}, failure(err)
}

func (h *handlers) changeCase(ctx context.Context, in *changedCase) (*caseOutput, error) {
	k, err := in.Body.kept()
	if err != nil {
		return nil, failure(err)
	}
	k.ID = in.ID
	if k, err = h.Store.ChangeCase(ctx, k); err != nil {
		return nil, failure(err)
	}
	c, err := h.whole(ctx, k)
	return &caseOutput{c}, failure(err)
}

// kept checks what an operator said.
func (c CaseInput) kept() (record.Kept, error) {
	if c.Numbering == "" {
		c.Numbering = string(tooth.ISO)
	}
	if c.Unit == "" {
		c.Unit = "mm"
	}
	if _, err := tooth.Parse(c.Tooth, tooth.Numbering(c.Numbering)); err != nil {
		return record.Kept{}, &Refusal{err.Error()}
	}
	if err := c.known(); err != nil {
		return record.Kept{}, &Refusal{err.Error()}
	}
	if c.Mesial != nil && c.Mesial.vec().Norm() == 0 {
		return record.Kept{}, &Refusal{"read mesial: the direction has no length; give for example [1, 0, 0]"}
	}
	return record.Kept{Tooth: c.Tooth, Numbering: c.Numbering, Material: c.Material, Unit: c.Unit, Patient: c.Patient, Title: c.Title,
		ScannerUM: c.ScannerUM, At: vecPtr(c.At), Mesial: vecPtr(c.Mesial),
		CementUM: c.CementUM, ToolUM: c.ToolUM, Block: c.Block, Own: record.OwnLimits{File: c.LimitsFile, Text: c.Limits}}, nil
}

// known checks the practice's own limits, and that material and block stand in
// the table.
func (c *CaseInput) known() error {
	switch {
	case c.Limits == "":
		c.LimitsFile = ""
	case c.LimitsFile == "":
		c.LimitsFile = "limits.yaml"
	default:
		c.LimitsFile = path.Base(strings.ReplaceAll(c.LimitsFile, `\`, "/"))
	}
	l, err := conformity.With(c.LimitsFile, c.Limits)
	if err != nil {
		return err
	}
	if _, err := l.Material(c.Material); err != nil {
		return err
	}
	if c.Block != "" {
		_, err = l.Block(c.Block)
	}
	return err
}

// whole is a case with its takes, newest job and newest run.
func (h *handlers) whole(ctx context.Context, k record.Kept) (CaseOutput, error) {
	c := toCase(k)
	takes, err := h.Store.Takes(ctx, k.ID)
	if err != nil {
		return c, err
	}
	c.Takes = toTakes(takes)
	runs, err := h.Store.Runs(ctx, k.ID, 1)
	if err != nil {
		return c, err
	}
	if len(runs) > 0 {
		v, headline := summary(runs[0].Document)
		c.Run, c.Verdicts, c.Headline = toRun(runs[0]), &v, headline
	}
	j, err := h.Queue.Latest(ctx, k.ID)
	if errors.Is(err, record.ErrNotFound) {
		return c, nil
	}
	o := toJob(j)
	c.Job = &o
	return c, err
}
