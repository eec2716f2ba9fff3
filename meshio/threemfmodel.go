package meshio

import "crownassay/geom"

// mfModel is one model part of a 3MF.
type mfModel struct {
	part   string
	unit   float64              // millimetres; 0 until the model element is read
	object map[string]*mfObject // by id
	order  []string             // ids as they come
	build  []mfItem
}

func newModel(part string) *mfModel {
	return &mfModel{part: part, object: map[string]*mfObject{}}
}

// mfObject is a mesh or a list of components.
type mfObject struct {
	support   bool // type support or other: not part of the surface
	v         []geom.Vec
	f         [][3]int32
	component []mfItem
}

// mfKey names an object within the package.
type mfKey struct{ part, id string }

// mfItem is an object placed by a transform, in the build or as a component.
type mfItem struct {
	mfKey
	move mfTransform
	line int // where it stands
}

// everything lists the objects that are no other object's component.
func (m *mfModel) everything() []mfItem {
	used := map[mfKey]bool{}
	for _, o := range m.object {
		for _, c := range o.component {
			used[c.mfKey] = true
		}
	}
	var items []mfItem
	for _, id := range m.order {
		if k := (mfKey{m.part, id}); !used[k] {
			items = append(items, mfItem{mfKey: k, move: still()})
		}
	}
	return items
}

// mfTransform is an affine map of row vectors, [x y z 1] times a matrix of
// four rows by three (3MF Core Specification 1.3, section 3.3).
type mfTransform [4]geom.Vec

func still() mfTransform { return mfTransform{{X: 1}, {Y: 1}, {Z: 1}} }

// turn maps a direction, apply a point.
func (t mfTransform) turn(p geom.Vec) geom.Vec {
	return t[0].Mul(p.X).Add(t[1].Mul(p.Y)).Add(t[2].Mul(p.Z))
}

func (t mfTransform) apply(p geom.Vec) geom.Vec { return t.turn(p).Add(t[3]) }

// then returns the map that does t first and u after it.
func (t mfTransform) then(u mfTransform) mfTransform {
	return mfTransform{u.turn(t[0]), u.turn(t[1]), u.turn(t[2]), u.apply(t[3])}
}

// mirrors reports whether the map turns surfaces inside out.
func (t mfTransform) mirrors() bool { return t[0].Dot(t[1].Cross(t[2])) < 0 }

// mfAssembly collects the placed meshes.
type mfAssembly struct {
	p       *mfPackage
	active  map[mfKey]bool // objects being placed, to see a cycle
	visits  int
	support int
	v       []geom.Vec
	f       [][3]int32
}

// place adds item, moved by its own transform and then by outer.
func (a *mfAssembly) place(it mfItem, outer mfTransform) error {
	o, err := a.lookUp(it)
	if err != nil {
		return err
	}
	if o.support {
		a.support++
		return nil
	}
	a.active[it.mfKey] = true
	defer delete(a.active, it.mfKey)
	move := it.move.then(outer)
	for _, c := range o.component {
		if err := a.place(c, move); err != nil {
			return err
		}
	}
	return a.add(o, move)
}

// lookUp finds the object of an item and refuses cycles and excess.
func (a *mfAssembly) lookUp(it mfItem) (*mfObject, error) {
	fail := func(format string, args ...any) error {
		return atLine(a.p.path+" ("+it.part+")", it.line, hintAgain, format, args...)
	}
	if a.active[it.mfKey] {
		return nil, fail("object %q is a component of itself", it.id)
	}
	if a.visits++; a.visits > maxVisits {
		return nil, fail("the components multiply to more than %d objects", maxVisits)
	}
	m, err := a.p.model(it.part)
	if err != nil {
		return nil, err
	}
	o := m.object[it.id]
	if o == nil {
		return nil, fail("there is no object %q", it.id)
	}
	return o, nil
}

// add appends an object's mesh, moved; a mirrored one is turned right side out.
func (a *mfAssembly) add(o *mfObject, move mfTransform) error {
	if len(a.v)+len(o.v) > maxPlaced || len(a.f)+len(o.f) > maxPlaced {
		return nowhere(a.p.path, "export it with fewer", "the components multiply to more than %d facets", maxPlaced)
	}
	base := int32(len(a.v))
	for _, p := range o.v {
		q := move.apply(p)
		if !finite(q.X) || !finite(q.Y) || !finite(q.Z) {
			return nowhere(a.p.path, hintAgain, "a transform moves the surface out of all bounds")
		}
		a.v = append(a.v, q)
	}
	mirror := move.mirrors()
	for _, t := range o.f {
		if mirror {
			t[1], t[2] = t[2], t[1]
		}
		a.f = append(a.f, [3]int32{t[0] + base, t[1] + base, t[2] + base})
	}
	return nil
}
