package web

import (
	"context"
	"errors"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"crownassay/practice/visit"
	"crownassay/record"
)

// VisitNumber is a request about one visit.
type VisitNumber struct {
	Visit int64 `path:"visit" minimum:"1" doc:"Number of the visit."`
}

type visitsInput struct {
	Last int `query:"last" minimum:"1" maximum:"2000" default:"20" doc:"How many of the newest."`
}

type visitsOutput struct {
	Body struct {
		Visits []visit.VisitDocument `json:"visits" nullable:"false" doc:"In the order they were added."`
	}
}

type forecastOutput struct{ Body *visit.Forecast }

type startInput struct {
	Body struct {
		Chair    int    `json:"chair" minimum:"1"`
		Case     int64  `json:"case,omitempty" minimum:"0" doc:"Number of the case on the bench; 0 for none."`
		Dentist  string `json:"dentist,omitempty" maxLength:"40" doc:"Code of the dentist."`
		Material string `json:"material,omitempty" maxLength:"40" doc:"Of the crown; by default that of the case."`
		Stage    string `json:"stage,omitempty" maxLength:"40" doc:"To begin with; by default the first."`
	}
}

type tapInput struct {
	VisitNumber
	Body struct {
		Kind  string `json:"kind,omitempty" enum:",stage,back,wait,end,leave" doc:"Empty for the next stage or, when none is left, the end."`
		Stage string `json:"stage,omitempty" maxLength:"40" doc:"Of kind stage: that begins."`
		Back  string `json:"back,omitempty" maxLength:"40" doc:"Of kind back: what is done again."`
		Last  int64  `json:"last" minimum:"0" doc:"The newest tap that holds, as it was seen: after another one nothing is kept (409). 0 for any."`
	}
}

type undoInput struct {
	VisitNumber
	Body struct {
		Last   int64  `json:"last" minimum:"0" doc:"The tap that is taken back, which has to be the newest that holds; 0 for any."`
		Reason string `json:"reason,omitempty" maxLength:"400"`
	}
}

type bookingInput struct {
	Material string    `query:"material" maxLength:"40"`
	Chair    int       `query:"chair" minimum:"1" default:"1"`
	Dentist  string    `query:"dentist" maxLength:"40"`
	At       time.Time `query:"at" doc:"When it begins; by default now."`
	Sure     float64   `query:"sure" minimum:"0.5" maximum:"0.99" default:"0.9" doc:"Probability that the time suffices."`
	Alone    bool      `query:"alone" doc:"Without the visits that are open."`
}

type bookingOutput struct{ Body *visit.Booking }

type lessonsOutput struct{ Body *visit.Lessons }

// StageOutput is a stage of the plan.
type StageOutput struct {
	Name  string   `json:"name"`
	Title string   `json:"title"`
	Needs []string `json:"needs" nullable:"false" doc:"What is held while it lasts."`
}

// BackOutput is a kind of going back.
type BackOutput struct {
	Name  string `json:"name"`
	Title string `json:"title"`
	At    string `json:"at" doc:"Stage at whose end it shows."`
	To    string `json:"to" doc:"Stage that is done again."`
}

type planOutput struct {
	Body struct {
		Resources []visit.Resource `json:"resources" nullable:"false"`
		Stages    []StageOutput    `json:"stages" nullable:"false"`
		Backs     []BackOutput     `json:"backs" nullable:"false"`
	}
}

// visits registers what is done with visits.
func (h *handlers) visits(api huma.API) {
	huma.Register(api, op("list-visits", http.MethodGet, "/api/visits", "The newest visits with their taps.", "visits"), h.listVisits)
	huma.Register(api, op("start-visit", http.MethodPost, "/api/visits", "Begin a visit: its first stage runs.", "visits", 404, 422), h.startVisit)
	huma.Register(api, op("tap-visit", http.MethodPost, "/api/visits/{visit}/taps", "Tap: what runs ends, and something else begins.", "visits", 404, 409, 422), h.tapVisit)
	huma.Register(api, op("undo-tap", http.MethodPost, "/api/visits/{visit}/undo", "Take the newest tap back.", "visits", 404, 409, 422), h.undoTap)
	huma.Register(api, op("get-visits-now", http.MethodGet, "/api/visits/now", "When the open visits will be ready, who waits for what, what going back does.", "visits"), h.visitsNow)
	huma.Register(api, op("get-booking", http.MethodGet, "/api/visits/booking", "How long has to be booked for a visit.", "visits", 422), h.booking)
	huma.Register(api, op("get-visit-lessons", http.MethodGet, "/api/visits/learned", "What was learned of durations and of going back.", "visits"), h.lessons)
	huma.Register(api, op("get-visit-plan", http.MethodGet, "/api/visits/plan", "The stages and resources of a visit.", "visits"), h.visitPlan)
}

// room is the store of visits with the plan that holds now.
func (h *handlers) room(ctx context.Context) (*visit.Room, error) {
	text, err := h.Store.Setting(ctx, visit.PlanSetting)
	if err != nil && !errors.Is(err, record.ErrNotFound) {
		return nil, err
	}
	p, err := visit.Kept(text)
	return &visit.Room{Store: h.Bench.Visits, Plan: p}, err
}

// inRoom does something with the room and answers with the forecast after it.
func (h *handlers) inRoom(ctx context.Context, do func(*visit.Room) error) (*forecastOutput, error) {
	r, err := h.room(ctx)
	if err == nil {
		err = do(r)
	}
	if err != nil {
		return nil, failure(err)
	}
	f, err := r.Now(ctx, time.Now().UTC())
	return &forecastOutput{f}, failure(err)
}

func (h *handlers) listVisits(ctx context.Context, in *visitsInput) (*visitsOutput, error) {
	all, err := h.Bench.Visits.Visits(ctx)
	out := &visitsOutput{}
	out.Body.Visits = visit.Documents(all[max(0, len(all)-in.Last):])
	return out, failure(err)
}

func (h *handlers) startVisit(ctx context.Context, in *startInput) (*forecastOutput, error) {
	b := &in.Body
	return h.inRoom(ctx, func(r *visit.Room) error {
		if b.Case != 0 && b.Material == "" {
			k, err := h.Store.Case(ctx, b.Case)
			if err != nil {
				return err
			}
			b.Material = k.Material
		}
		_, err := r.Start(ctx, visit.Visit{Chair: b.Chair, Case: b.Case, Dentist: b.Dentist, Material: b.Material}, b.Stage)
		return err
	})
}

func (h *handlers) tapVisit(ctx context.Context, in *tapInput) (*forecastOutput, error) {
	b := &in.Body
	return h.inRoom(ctx, func(r *visit.Room) error {
		_, err := r.Tap(ctx, in.Visit, visit.Press{Kind: visit.Kind(b.Kind), Stage: b.Stage, Back: b.Back, Last: b.Last})
		return err
	})
}

func (h *handlers) undoTap(ctx context.Context, in *undoInput) (*forecastOutput, error) {
	return h.inRoom(ctx, func(r *visit.Room) error {
		_, err := r.Undo(ctx, in.Visit, in.Body.Last, in.Body.Reason)
		return err
	})
}

func (h *handlers) visitsNow(ctx context.Context, _ *struct{}) (*forecastOutput, error) {
	return h.inRoom(ctx, func(*visit.Room) error { return nil })
}

func (h *handlers) booking(ctx context.Context, in *bookingInput) (*bookingOutput, error) {
	r, err := h.room(ctx)
	if err != nil {
		return nil, failure(err)
	}
	now := time.Now().UTC()
	if in.At.IsZero() {
		in.At = now
	}
	b, err := r.Book(ctx, now, visit.Wanted{Chair: in.Chair, Dentist: in.Dentist, Material: in.Material, At: in.At.UTC(), Alone: in.Alone, Sure: in.Sure})
	return &bookingOutput{b}, failure(err)
}

func (h *handlers) lessons(ctx context.Context, _ *struct{}) (*lessonsOutput, error) {
	r, err := h.room(ctx)
	if err != nil {
		return nil, failure(err)
	}
	all, err := r.Store.Visits(ctx)
	if err != nil {
		return nil, failure(err)
	}
	return &lessonsOutput{r.Plan.Learn(all).Document()}, nil
}

func (h *handlers) visitPlan(ctx context.Context, _ *struct{}) (*planOutput, error) {
	r, err := h.room(ctx)
	if err != nil {
		return nil, failure(err)
	}
	out := &planOutput{}
	out.Body.Resources, out.Body.Stages, out.Body.Backs = append([]visit.Resource{}, r.Plan.Resources...), []StageOutput{}, []BackOutput{}
	for _, s := range r.Plan.Stages {
		out.Body.Stages = append(out.Body.Stages, StageOutput{s.Name, s.Title, append([]string{}, s.Needs...)})
	}
	for _, b := range r.Plan.Backs {
		out.Body.Backs = append(out.Body.Backs, BackOutput{b.Name, b.Title, b.At, b.To})
	}
	return out, nil
}
