package web

import (
	"context"
	"errors"

	"github.com/danielgtaylor/huma/v2"

	"crownassay/practice/visit"
	"crownassay/record"
)

// Refusal says that a request cannot be met as it stands, and what to do.
type Refusal struct{ Text string }

func (r *Refusal) Error() string { return r.Text }

// failure turns an error into the answer a page gets: one table for all
// operations.
func failure(err error) error {
	var no *Refusal
	var fault *record.Fault
	var unfit *record.Unfit
	var refused *visit.Refused
	switch {
	case err == nil:
		return nil
	case errors.As(err, &unfit):
		return huma.Error422UnprocessableEntity(unfit.Error())
	case errors.As(err, &refused):
		return huma.Error422UnprocessableEntity(err.Error())
	case errors.Is(err, visit.ErrTapped):
		return huma.Error409Conflict(err.Error())
	case errors.Is(err, visit.ErrNotFound):
		return huma.Error404NotFound(err.Error())
	case errors.As(err, &fault):
		return huma.Error409Conflict(err.Error())
	case errors.Is(err, record.ErrNotFound):
		return huma.Error404NotFound(err.Error())
	case errors.Is(err, record.ErrTooLarge):
		return huma.NewError(413, err.Error())
	case errors.As(err, &no):
		return huma.Error422UnprocessableEntity(no.Text)
	case errors.Is(err, context.Canceled):
		return huma.NewError(499, "the request was given up")
	}
	return huma.Error500InternalServerError(err.Error())
}
