package web

import (
	"bytes"
	"context"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"crownassay/geom"
	"crownassay/record"
)

type lineInput struct {
	CaseNumber
	Body struct {
		Points []Point `json:"points" minItems:"3" maxItems:"20000" nullable:"false" doc:"Closed, in order around the tooth, no repeated end, no more than 6 mm apart, each within 1 mm of the prepared surface."`
		Who    string  `json:"who,omitempty" maxLength:"64" doc:"Initials or code of the operator; the bench's own setting where it is left out."`
		Try    bool    `json:"try,omitempty" doc:"Measure without keeping: while a point is being dragged."`
	}
}

// DrawnOutput is a finish line drawn by an operator.
type DrawnOutput struct {
	ID     int64     `json:"id"`
	Points []Point   `json:"points" nullable:"false"`
	Who    string    `json:"who"`
	When   time.Time `json:"when"`
	Undone bool      `json:"undone" doc:"It was taken back."`
}

type linesOutput struct {
	Body struct {
		Lines []DrawnOutput `json:"lines" nullable:"false" doc:"In the order they were drawn. The last one that is not undone holds; else the traced one."`
	}
}

type redrawnOutput struct {
	Body struct {
		Line       int64             `json:"line" doc:"Number of the line as kept; 0 when it was only tried or is the traced one."`
		Points     []Point           `json:"points" nullable:"false" doc:"As given, moved onto the surface."`
		Headline   string            `json:"headline" doc:"Of the record now."`
		Frame      frameDocument     `json:"frame" doc:"Of the record now."`
		FinishLine lineDocument      `json:"finish_line" doc:"Of the record now."`
		Order      []string          `json:"order" nullable:"false" doc:"Ids of all readings of the record now, in its order."`
		Readings   []readingDocument `json:"readings" nullable:"false" doc:"Those that were made anew; the others are as they were."`
		Took       float64           `json:"took_ms" doc:"How long measuring took, milliseconds."`
	}
}

// lines registers what is done with the finish line.
func (h *handlers) lines(api huma.API) {
	huma.Register(api, op("list-lines", "GET", "/api/cases/{id}/finish-lines", "The finish lines that operators have drawn.", "finish line", 404), h.listLines)
	huma.Register(api, op("draw-line", "POST", "/api/cases/{id}/finish-lines", "Measure with another finish line.", "finish line", 404, 422), h.drawLine)
	huma.Register(api, op("undo-line", "DELETE", "/api/cases/{id}/finish-lines/last", "Take the newest line back.", "finish line", 404, 422), h.undoLine)
}

func (h *handlers) listLines(ctx context.Context, in *CaseNumber) (*linesOutput, error) {
	if _, err := h.Store.Case(ctx, in.ID); err != nil {
		return nil, failure(err)
	}
	ds, err := h.Store.Lines(ctx, in.ID)
	if err != nil {
		return nil, failure(err)
	}
	out := &linesOutput{}
	out.Body.Lines = []DrawnOutput{}
	for _, d := range ds {
		out.Body.Lines = append(out.Body.Lines, DrawnOutput{d.ID, toPoints(d.Points), d.Who, d.When, d.Undone})
	}
	return out, nil
}

func (h *handlers) drawLine(ctx context.Context, in *lineInput) (*redrawnOutput, error) {
	pts := make([]geom.Vec, len(in.Body.Points))
	for i, p := range in.Body.Points {
		pts[i] = p.vec()
	}
	out, made, err := h.redraw(ctx, in.ID, pts)
	if err != nil || in.Body.Try {
		return out, failure(err)
	}
	who := in.Body.Who
	if who == "" {
		who = h.operator(ctx)
	}
	d, err := h.Store.AddLine(ctx, record.Drawn{Case: in.ID, Points: made.Points, Who: who})
	if err != nil {
		return nil, failure(err)
	}
	out.Body.Line = d.ID
	return out, failure(h.keepRun(ctx, in.ID, d.ID, made.Record))
}

// undoLine takes the newest line back and measures with the one before.
func (h *handlers) undoLine(ctx context.Context, in *CaseNumber) (*redrawnOutput, error) {
	d, err := h.Store.UndoLine(ctx, in.ID)
	if err != nil {
		return nil, failure(err)
	}
	out, made, err := h.redraw(ctx, in.ID, d.Points)
	if err != nil {
		return nil, failure(err)
	}
	out.Body.Line = d.ID
	return out, failure(h.keepRun(ctx, in.ID, d.ID, made.Record))
}

// redraw measures with a line and says how long it took. No points mean the
// traced line.
func (h *handlers) redraw(ctx context.Context, id int64, pts []geom.Vec) (*redrawnOutput, Redrawn, error) {
	begun := time.Now()
	made, err := h.Measurer.Redraw(ctx, id, pts)
	if err != nil {
		return nil, made, err
	}
	out := &redrawnOutput{}
	b := &out.Body
	b.Took = float64(time.Since(begun).Microseconds()) / 1000
	p, err := made.Record.Part(made.Again)
	if err != nil {
		return nil, made, err
	}
	b.Points, b.Headline, b.Frame, b.FinishLine = toPoints(made.Points), p.Headline, p.Frame, p.FinishLine
	b.Order, b.Readings = make([]string, len(p.Order)), make([]readingDocument, len(p.Readings))
	for i, id := range p.Order {
		b.Order[i] = string(id)
	}
	for i, r := range p.Readings {
		b.Readings[i] = r
	}
	return out, made, nil
}

// keepRun keeps a record as a run of the takes that hold now.
func (h *handlers) keepRun(ctx context.Context, id, line int64, made *record.Record) error {
	var document bytes.Buffer
	if err := made.WriteJSON(&document); err != nil {
		return err
	}
	takes, err := h.Store.Takes(ctx, id)
	if err != nil {
		return err
	}
	r := record.Run{Case: id, Line: line, Document: document.Bytes()}
	for _, t := range toTakes(takes) {
		if t.Current {
			r.Takes = append(r.Takes, t.ID)
		}
	}
	_, err = h.Store.AddRun(ctx, r)
	return err
}
