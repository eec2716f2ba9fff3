package web

import (
	"time"

	"github.com/danielgtaylor/huma/v2"

	"crownassay/geom"
	"crownassay/record"
	"crownassay/tooth"
)

// Point is x, y, z in mm.
type Point [3]float64

// Schema says three numbers.
func (Point) Schema(huma.Registry) *huma.Schema {
	three := 3
	return &huma.Schema{Type: "array", MinItems: &three, MaxItems: &three, Items: &huma.Schema{Type: "number", Format: "double"}}
}

func toPoint(v geom.Vec) Point { return Point{v.X, v.Y, v.Z} }
func (p Point) vec() geom.Vec  { return geom.V(p[0], p[1], p[2]) }
func vecPtr(p *Point) *geom.Vec {
	if p == nil {
		return nil
	}
	v := p.vec()
	return &v
}

func toPoints(v []geom.Vec) []Point {
	out := make([]Point, len(v))
	for i := range v {
		out[i] = toPoint(v[i])
	}
	return out
}

// CaseInput is what an operator says about a case.
type CaseInput struct {
	Tooth     string  `json:"tooth" pattern:"^[1-9][0-9]?$" doc:"Tooth number in the system of numbering."`
	Numbering string  `json:"numbering,omitempty" enum:"iso3950,universal" default:"iso3950" doc:"System of tooth numbers."`
	Material  string  `json:"material" minLength:"1" maxLength:"64" doc:"Name of a material of GET /api/limits."`
	Unit      string  `json:"unit,omitempty" enum:"mm,um,cm,m,in" default:"mm" doc:"Length unit of mesh files that state none."`
	Patient   string  `json:"patient,omitempty" pattern:"^[A-Za-z0-9._-]{0,32}$" doc:"The practice's own code of the patient. Never a name."`
	Title     string  `json:"title,omitempty" maxLength:"120" doc:"A short remark. Never a name."`
	ScannerUM float64 `json:"scanner_uncertainty_um,omitempty" minimum:"0" maximum:"1000" doc:"Expanded uncertainty of the scanner, um; 0 for the default."`
	At        *Point  `json:"at,omitempty" doc:"A point on the preparation, mm, where it is not found by itself."`
	Mesial    *Point  `json:"mesial,omitempty" doc:"Roughly the mesial direction, where it is not found by itself."`
	Making
}

// Making is what is said of how a case's crown is judged and made.
type Making struct {
	CementUM   *float64 `json:"cement_space_um,omitempty" minimum:"0" maximum:"500" doc:"Cement space, um; that of the limits table where it is left out."`
	ToolUM     *float64 `json:"tool_radius_um,omitempty" minimum:"50" maximum:"2000" doc:"Radius of the finest milling tool's tip, um; that of the limits table where it is left out."`
	Block      string   `json:"block,omitempty" maxLength:"64" doc:"Name of a block of the limits table, with the sprue that it says; the smallest that holds the crown where it is left out."`
	Limits     string   `json:"limits,omitempty" maxLength:"262144" doc:"The practice's own limits, YAML as the README shows; they hold over the built-in rows."`
	LimitsFile string   `json:"limits_file,omitempty" maxLength:"255" doc:"Name of the file they came from."`
}

// CaseOutput is a case with its takes.
type CaseOutput struct {
	ID        int64   `json:"id"`
	Tooth     string  `json:"tooth" doc:"In the system of numbering."`
	ISO       string  `json:"iso" doc:"ISO 3950 number."`
	Universal int     `json:"universal" doc:"Universal number."`
	Name      string  `json:"name" doc:"The tooth in words."`
	Numbering string  `json:"numbering" enum:"iso3950,universal"`
	Material  string  `json:"material"`
	Unit      string  `json:"unit"`
	Patient   string  `json:"patient"`
	Title     string  `json:"title"`
	ScannerUM float64 `json:"scanner_uncertainty_um"`
	At        *Point  `json:"at,omitempty"`
	Mesial    *Point  `json:"mesial,omitempty"`
	Making
	Created  time.Time       `json:"created"`
	Changed  time.Time       `json:"changed"`
	Takes    []TakeOutput    `json:"takes" nullable:"false" doc:"In the order they were added."`
	Job      *JobOutput      `json:"job,omitempty" doc:"The newest job."`
	Run      *RunOutput      `json:"run,omitempty" doc:"The newest run."`
	Verdicts *VerdictsOutput `json:"verdicts,omitempty" doc:"Of the newest run."`
	Headline string          `json:"headline" doc:"The most important next step of the newest run, or empty."`
}

// VerdictsOutput counts the verdicts of a run.
type VerdictsOutput struct {
	Fails      int `json:"fails"`
	Undecided  int `json:"undecided"`
	Unmeasured int `json:"unmeasured"`
	Conforms   int `json:"conforms"`
	Informs    int `json:"informs"`
}

// TakeOutput is one scan of one role.
type TakeOutput struct {
	ID        int64     `json:"id"`
	Role      string    `json:"role" enum:"prepared,opposing,before,crown,finished,seated," doc:"Empty when it is not known."`
	Guess     string    `json:"guess" enum:"prepared,opposing,before,crown,finished,seated," doc:"Guessed from the geometry; empty when none could be."`
	Why       string    `json:"why" doc:"What the guess rests on."`
	Confirmed bool      `json:"confirmed" doc:"By the operator."`
	Current   bool      `json:"current" doc:"It is the one that is measured in its role."`
	File      string    `json:"file"`
	SHA256    string    `json:"sha256"`
	Bytes     int64     `json:"bytes"`
	Form      string    `json:"form" doc:"Of the file, such as stl-binary."`
	Triangles int       `json:"triangles"`
	Unit      string    `json:"unit" doc:"As read."`
	Added     time.Time `json:"added"`
}

// JobOutput is the measuring of one case.
type JobOutput struct {
	ID    int64     `json:"id"`
	Case  int64     `json:"case"`
	State string    `json:"state" enum:"waiting,running,done,failed,cancelled"`
	Step  string    `json:"step" doc:"What is being done."`
	Done  int       `json:"done" doc:"Steps done."`
	Total int       `json:"total" doc:"Steps in all."`
	Error string    `json:"error" doc:"Why it failed, and what to do; else empty."`
	First bool      `json:"first" doc:"First readings can be had at /api/jobs/{job}/record."`
	Since time.Time `json:"since"`
}

// RunOutput is one measuring that was made.
type RunOutput struct {
	ID    int64     `json:"id"`
	Made  time.Time `json:"made"`
	Takes []int64   `json:"takes" nullable:"false"`
	Line  int64     `json:"line" doc:"The operator's finish line that was used; 0 for the traced one."`
}

func toCase(k record.Kept) CaseOutput {
	c := CaseOutput{ID: k.ID, Tooth: k.Tooth, Numbering: k.Numbering, Material: k.Material, Unit: k.Unit, Patient: k.Patient,
		Title: k.Title, ScannerUM: k.ScannerUM, Making: Making{k.CementUM, k.ToolUM, k.Block, k.Own.Text, k.Own.File}, Created: k.Created, Changed: k.Changed, Takes: []TakeOutput{}}
	if t, err := tooth.Parse(k.Tooth, tooth.Numbering(k.Numbering)); err == nil {
		c.ISO, c.Universal, c.Name = t.ISO(), t.Universal(), t.Name()
	}
	if k.At != nil {
		p := toPoint(*k.At)
		c.At = &p
	}
	if k.Mesial != nil {
		p := toPoint(*k.Mesial)
		c.Mesial = &p
	}
	return c
}

func toTakes(takes []record.Take) []TakeOutput {
	now := record.Current(takes)
	out := make([]TakeOutput, len(takes))
	for i, t := range takes {
		out[i] = toTake(t)
		out[i].Current = t.Role != "" && now[t.Role].ID == t.ID
	}
	return out
}

func toTake(t record.Take) TakeOutput {
	return TakeOutput{ID: t.ID, Role: t.Role, Guess: t.Guess, Why: t.Why, Confirmed: t.Confirmed, File: t.File, SHA256: t.SHA256,
		Bytes: t.Bytes, Form: t.Form, Triangles: t.Triangles, Unit: t.Unit, Added: t.Added}
}

func toJob(j record.Job) JobOutput {
	return JobOutput{j.ID, j.Case, string(j.State), j.Step, j.Done, j.Total, j.Error, j.First, j.Since}
}

func toRun(r record.Run) *RunOutput {
	if r.Takes == nil {
		r.Takes = []int64{}
	}
	return &RunOutput{r.ID, r.Made, r.Takes, r.Line}
}
