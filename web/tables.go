package web

import (
	"context"
	"errors"

	"github.com/danielgtaylor/huma/v2"

	"crownassay/conformity"
	"crownassay/reading"
	"crownassay/record"
)

// MeasurandOutput is a row of the table of readings.
type MeasurandOutput struct {
	ID         string `json:"id"`
	Name       string `json:"name"`
	HoldPoint  string `json:"hold_point" enum:"preparation,design,try-in,recall"`
	Unit       string `json:"unit"`
	Digits     int    `json:"digits" doc:"Decimals that mean something when shown."`
	Profile    bool   `json:"profile" doc:"It has a value a degree, for the strip."`
	Definition string `json:"definition"`
}

type readingsOutput struct {
	Body struct {
		Readings []MeasurandOutput `json:"readings" nullable:"false"`
	}
}

// LimitOutput is a row of the limits table. Of the rows that match a reading,
// the last holds.
type LimitOutput struct {
	Readings  []string `json:"readings" nullable:"false"`
	Part      string   `json:"part" doc:"A zone of the occlusal surface; empty for the reading itself."`
	Materials []string `json:"materials" nullable:"false" doc:"Empty for all."`
	Classes   []string `json:"classes" nullable:"false" doc:"Classes of teeth; empty for all."`
	Min       *float64 `json:"min,omitempty"`
	Max       *float64 `json:"max,omitempty"`
	Source    string   `json:"source"`
	Status    string   `json:"status" doc:"Where the figure is from: read, memory, computed, common practice, practice."`
}

// MaterialOutput is a material of the limits table.
type MaterialOutput struct {
	Name      string  `json:"name"`
	Title     string  `json:"title"`
	Thickness float64 `json:"thickness" doc:"Least thickness, mm; 0 when none is known."`
	Source    string  `json:"source"`
	Status    string  `json:"status"`
}

// BlockOutput is a block from which a crown is milled, as it is without its
// holder, mm.
type BlockOutput struct {
	Name   string  `json:"name"`
	Length float64 `json:"length"`
	Width  float64 `json:"width"`
	Height float64 `json:"height"`
	Sprue  float64 `json:"sprue" doc:"Length kept at one end for the sprue."`
}

type limitsOutput struct {
	Body struct {
		CementSpace float64          `json:"cement_space" doc:"mm"`
		ToolRadius  float64          `json:"tool_radius" doc:"Of the finest milling tool's tip, mm."`
		Blocks      []BlockOutput    `json:"blocks" nullable:"false"`
		Materials   []MaterialOutput `json:"materials" nullable:"false"`
		Limits      []LimitOutput    `json:"limits" nullable:"false"`
	}
}

// SettingsOutput is how the bench is set.
type SettingsOutput struct {
	Operator  string `json:"operator" maxLength:"64" doc:"Initials or code kept with changes."`
	Numbering string `json:"numbering" enum:"iso3950,universal" doc:"Tooth numbers as shown."`
	Material  string `json:"material" maxLength:"64" doc:"Of new cases; empty for none."`
	Language  string `json:"language" pattern:"^[A-Za-z0-9-]{0,35}$" doc:"Of the page; empty for the browser's."`
	Scheme    string `json:"scheme" enum:"auto,light,dark" doc:"Of colours."`
	Contrast  string `json:"contrast" enum:"auto,more"`
	Text      string `json:"text" enum:"normal,large" doc:"Size of text."`
	Paper     string `json:"paper,omitempty" enum:"a4,letter" default:"a4" doc:"Of reports."`
}

type settingsBody struct{ Body SettingsOutput }

// tables registers what is the same for all cases.
func (h *handlers) tables(api huma.API) {
	huma.Register(api, op("list-readings", "GET", "/api/readings", "The table of readings.", "tables"), h.readings)
	huma.Register(api, op("list-limits", "GET", "/api/limits", "Limits and materials.", "tables"), h.limits)
	huma.Register(api, op("read-limits", "POST", "/api/limits", "Limits, materials and blocks with a practice's own laid over. Nothing is kept.", "tables", 422), h.ownLimits)
	huma.Register(api, op("get-settings", "GET", "/api/settings", "How the bench is set.", "tables"), h.getSettings)
	huma.Register(api, op("set-settings", "PUT", "/api/settings", "Set the bench.", "tables", 422), h.setSettings)
}

func (h *handlers) readings(context.Context, *struct{}) (*readingsOutput, error) {
	out := &readingsOutput{}
	for _, m := range reading.Measurands {
		out.Body.Readings = append(out.Body.Readings, MeasurandOutput{string(m.ID), m.Name, string(m.HoldPoint), string(m.Unit), m.Digits, m.Sectioned, m.Definition})
	}
	return out, nil
}

func (h *handlers) limits(context.Context, *struct{}) (*limitsOutput, error) {
	return toLimits(conformity.BuiltIn()), nil
}

// ownInput is a practice's own limits as their file has them.
type ownInput struct {
	Body struct {
		File string `json:"file" maxLength:"255" doc:"Name of the file, for messages."`
		Text string `json:"text" maxLength:"262144" doc:"YAML as the README shows."`
	}
}

func (h *handlers) ownLimits(_ context.Context, in *ownInput) (*limitsOutput, error) {
	l, err := conformity.With(in.Body.File, in.Body.Text)
	if err != nil {
		return nil, failure(&Refusal{err.Error()})
	}
	return toLimits(l), nil
}

func toLimits(l *conformity.Limits) *limitsOutput {
	out := &limitsOutput{}
	out.Body.CementSpace, out.Body.ToolRadius, out.Body.Blocks = l.CementSpace.MM, l.ToolRadius.MM, []BlockOutput{}
	for _, k := range l.Blocks {
		out.Body.Blocks = append(out.Body.Blocks, BlockOutput{k.Name, k.Length, k.Width, k.Height, k.Sprue})
	}
	for _, m := range l.Materials {
		out.Body.Materials = append(out.Body.Materials, MaterialOutput{m.Name, m.Title, m.Thickness, m.Source, m.Status})
	}
	for _, r := range l.Rows {
		out.Body.Limits = append(out.Body.Limits, LimitOutput{some(r.Readings), r.Part, some(r.Materials), some(r.Classes), r.Min, r.Max, r.Source, r.Status})
	}
	return out
}

// some returns a list that is never null.
func some(s []string) []string { return append([]string{}, s...) }

// setting is where a field of the settings is kept.
type setting struct {
	name  string
	value *string
	first string // until it is set
}

func (s *SettingsOutput) fields(own string) []setting {
	return []setting{{"operator", &s.Operator, own}, {"numbering", &s.Numbering, "iso3950"}, {"material", &s.Material, ""},
		{"language", &s.Language, ""}, {"scheme", &s.Scheme, "auto"}, {"contrast", &s.Contrast, "auto"}, {"text", &s.Text, "normal"}, {"paper", &s.Paper, "a4"}}
}

func (h *handlers) getSettings(ctx context.Context, _ *struct{}) (*settingsBody, error) {
	out := &settingsBody{}
	for _, f := range out.Body.fields(h.Own) {
		v, err := h.Store.Setting(ctx, f.name)
		if errors.Is(err, record.ErrNotFound) {
			v, err = f.first, nil
		}
		if err != nil {
			return nil, failure(err)
		}
		*f.value = v
	}
	return out, nil
}

func (h *handlers) setSettings(ctx context.Context, in *settingsBody) (*settingsBody, error) {
	for _, f := range in.Body.fields(h.Own) {
		if err := h.Store.SetSetting(ctx, f.name, *f.value); err != nil {
			return nil, failure(err)
		}
	}
	return in, nil
}

// operator is who changes are kept under when a request does not say.
func (h *handlers) operator(ctx context.Context) string {
	who, err := h.Store.Setting(ctx, "operator")
	if err != nil || who == "" {
		return h.Own
	}
	return who
}
