package desk

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"
	"time"

	"crownassay/align"
	"crownassay/assay"
	"crownassay/geom"
	"crownassay/mesh"
	"crownassay/reading"
	"crownassay/record"
	"crownassay/web"
)

// order is that of the bytes set aside.
var order = binary.LittleEndian

// How long setting aside waits: behind the first look at a case that was just
// measured, and until a line that was moved is likely to stay.
const (
	behind = 3 * time.Second
	quiet  = 20 * time.Second
)

// about is what is set aside beside surfaces and maps.
type about struct {
	Frame align.Frame
	Cut   []assay.Role // what sections cut
	Maps  []web.MapInfo
}

// The kinds of what is set aside. Surfaces are kept under the tag of what they
// were measured from, the rest under that of the finish line too.
const aboutKind = "about"

func surfaceKind(role assay.Role) string { return "surface-" + string(role) }

func mapKind(role assay.Role, r reading.ID) string { return fmt.Sprintf("map-%s-%s", role, r) }

// setAside begins to set aside what is drawn of a case, so that it opens at
// once after a restart, unless that was begun before. What fails is measured
// again when it is needed. The place's lock is held.
func (d *Desk) setAside(h *held, tag, lineTag string, m *assay.Measured, after time.Duration) {
	if h.kept == lineTag {
		return
	}
	h.kept = lineTag
	select {
	case <-d.closing:
		return
	default:
	}
	d.aside.Add(1)
	go func() {
		defer d.aside.Done()
		select {
		case <-time.After(after):
		case <-d.closing:
			if after > behind {
				return
			}
		}
		still := func() bool {
			h.mu.Lock()
			defer h.mu.Unlock()
			return h.kept == lineTag
		}
		_ = d.put(context.Background(), h.id, tag, lineTag, m, still) // made again when it is needed
	}()
}

// put sets aside all that is drawn of a case, as long as it is still wanted;
// what says that it is there comes last.
func (d *Desk) put(ctx context.Context, id int64, tag, lineTag string, m *assay.Measured, still func() bool) error {
	s := &open{m, tag}
	for _, role := range assay.Roles {
		if _, err := d.store.Aside(ctx, id, surfaceKind(role), tag); err == nil || m.Surface(role) == nil {
			continue
		}
		w, err := s.mesh(ctx, role)
		if err != nil {
			return err
		}
		if err := d.store.SetAside(ctx, id, surfaceKind(role), tag, packMesh(w)); err != nil {
			return err
		}
	}
	a := about{m.Frame(), m.Cut(), nil}
	for _, k := range s.maps() {
		if !still() {
			return nil
		}
		v, err := s.values(ctx, assay.Role(k.Role), k.Reading)
		if errors.Is(err, assay.ErrNoMap) {
			continue // it cannot be shown after all
		}
		if err != nil {
			return err
		}
		if err := d.store.SetAside(ctx, id, mapKind(assay.Role(k.Role), k.Reading), lineTag, appendFloats(nil, v)); err != nil {
			return err
		}
		a.Maps = append(a.Maps, k)
	}
	b, err := json.Marshal(a)
	if err != nil {
		return err
	}
	return d.store.SetAside(ctx, id, aboutKind, lineTag, b)
}

// shelf is the sight of a case as it was set aside.
type shelf struct {
	store        record.Store
	id           int64
	tag, lineTag string
	about
	cut func() (*assay.Sections, error)
}

// shelved returns a case as it was set aside; nil where it was not. The
// place's lock is held.
func (d *Desk) shelved(ctx context.Context, h *held, in *input) *shelf {
	if h.shelf != nil && h.shelf.lineTag == in.lineTag() {
		return h.shelf
	}
	h.shelf = nil
	b, err := d.store.Aside(ctx, h.id, aboutKind, in.lineTag())
	if err != nil {
		return nil
	}
	s := &shelf{store: d.store, id: h.id, tag: in.tag(), lineTag: in.lineTag()}
	if json.Unmarshal(b, &s.about) != nil {
		return nil
	}
	s.cut = sync.OnceValues(s.surfaces)
	h.shelf, h.kept = s, s.lineTag
	return s
}

func (s *shelf) mesh(ctx context.Context, role assay.Role) (web.Mesh, error) {
	b, err := s.store.Aside(ctx, s.id, surfaceKind(role), s.tag)
	if err != nil {
		return web.Mesh{}, err
	}
	w, ok := unpackMesh(b)
	if !ok {
		return w, noSurface(role)
	}
	w.Tag = s.tag + "-" + string(role)
	return w, nil
}

func (s *shelf) maps() []web.MapInfo { return s.Maps }

func (s *shelf) values(ctx context.Context, role assay.Role, r reading.ID) ([]float32, error) {
	if !slices.ContainsFunc(s.Maps, func(k web.MapInfo) bool { return k.Role == string(role) && k.Reading == r }) {
		return nil, fmt.Errorf("show %s on the %s surface: %w", r, role, record.ErrNotFound)
	}
	b, err := s.store.Aside(ctx, s.id, mapKind(role, r), s.lineTag)
	if err != nil {
		return nil, err
	}
	return floats(b), nil
}

func (s *shelf) sections(context.Context) (*assay.Sections, error) { return s.cut() }

// surfaces reads what is cut.
func (s *shelf) surfaces() (*assay.Sections, error) {
	all := map[assay.Role]*mesh.Mesh{}
	for _, role := range s.Cut {
		w, err := s.mesh(context.Background(), role) // for all requests to come
		if err != nil {
			return nil, err
		}
		all[role] = solid(w)
	}
	return assay.NewSections(s.Frame, all), nil
}

// solid is a drawn mesh in double precision.
func solid(w web.Mesh) *mesh.Mesh {
	m := &mesh.Mesh{V: make([]geom.Vec, len(w.Positions)/3), F: make([][3]int32, len(w.Indices)/3)}
	for i := range m.V {
		m.V[i] = geom.V(float64(w.Positions[3*i]), float64(w.Positions[3*i+1]), float64(w.Positions[3*i+2]))
	}
	for i := range m.F {
		m.F[i] = [3]int32{int32(w.Indices[3*i]), int32(w.Indices[3*i+1]), int32(w.Indices[3*i+2])}
	}
	return m
}

// packMesh is a mesh as it is set aside: the number of positions, positions,
// indices; little endian.
func packMesh(w web.Mesh) []byte {
	b := make([]byte, 0, 4+4*len(w.Positions)+4*len(w.Indices))
	b = order.AppendUint32(b, uint32(len(w.Positions)))
	b = appendFloats(b, w.Positions)
	for _, i := range w.Indices {
		b = order.AppendUint32(b, i)
	}
	return b
}

// unpackMesh is the way back; ok is false when an index leads nowhere.
func unpackMesh(b []byte) (w web.Mesh, ok bool) {
	if len(b) < 4 || len(b)%4 != 0 {
		return w, false
	}
	n := int(order.Uint32(b))
	if b = b[4:]; n%3 != 0 || n > len(b)/4 || (len(b)/4-n)%3 != 0 {
		return w, false
	}
	w.Positions = floats(b[:4*n])
	w.Indices = make([]uint32, len(b)/4-n)
	for i := range w.Indices {
		w.Indices[i] = order.Uint32(b[4*(n+i):])
		if int(w.Indices[i]) >= n/3 {
			return w, false
		}
	}
	return w, true
}

func appendFloats(b []byte, v []float32) []byte {
	for _, x := range v {
		b = order.AppendUint32(b, math.Float32bits(x))
	}
	return b
}

func floats(b []byte) []float32 {
	out := make([]float32, len(b)/4)
	for i := range out {
		out[i] = math.Float32frombits(order.Uint32(b[4*i:]))
	}
	return out
}
