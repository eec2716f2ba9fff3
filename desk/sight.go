package desk

import (
	"context"
	"errors"
	"fmt"

	"crownassay/assay"
	"crownassay/reading"
	"crownassay/record"
	"crownassay/web"
)

// sight is what is drawn of a case. What it does not have is ErrNotFound.
type sight interface {
	mesh(ctx context.Context, role assay.Role) (web.Mesh, error)
	maps() []web.MapInfo
	values(ctx context.Context, role assay.Role, r reading.ID) ([]float32, error)
	sections(ctx context.Context) (*assay.Sections, error)
}

// open is the sight of a case that is held open.
type open struct {
	m   *assay.Measured
	tag string // of the surfaces
}

func (o *open) mesh(_ context.Context, role assay.Role) (web.Mesh, error) {
	s := o.m.Surface(role)
	if s == nil {
		return web.Mesh{}, noSurface(role)
	}
	return drawable(s, o.tag+"-"+string(role)), nil
}

func noSurface(role assay.Role) error {
	return fmt.Errorf("find the %s surface of the case: %w", role, record.ErrNotFound)
}

func (o *open) maps() (out []web.MapInfo) {
	for _, k := range o.m.Maps() {
		out = append(out, web.MapInfo{Reading: k.Reading, Role: string(k.Role), Unit: k.Unit, Says: k.Says})
	}
	return out
}

func (o *open) values(ctx context.Context, role assay.Role, r reading.ID) ([]float32, error) {
	v, err := o.m.Map(ctx, role, r)
	if errors.Is(err, assay.ErrNoMap) {
		return nil, fmt.Errorf("%w: %w", err, record.ErrNotFound)
	}
	if err != nil {
		return nil, err
	}
	out := make([]float32, len(v))
	for i, x := range v {
		out[i] = float32(x)
	}
	return out, nil
}

func (o *open) sections(context.Context) (*assay.Sections, error) { return o.m.Sections(), nil }
