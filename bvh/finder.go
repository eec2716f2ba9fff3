package bvh

import "crownassay/geom"

// Finder answers queries for nearest points that come one near another: each
// search begins at what was found for the one before. The answers are those of
// Closest and Signed.
type Finder struct {
	s    search
	hint int32
}

// Finder returns a Finder, for one goroutine.
func (t *Tree) Finder() *Finder { return &Finder{s: search{t: t}, hint: -1} }

// Closest is Tree.Closest.
func (f *Finder) Closest(p geom.Vec, maxDist float64) (Hit, bool) {
	ok := f.s.find(p, maxDist, f.hint)
	if ok {
		f.hint = f.s.slot
	}
	return f.s.hit, ok
}

// Signed is Tree.Signed.
func (f *Finder) Signed(p geom.Vec, maxDist float64) (SignedHit, bool) {
	h, ok := f.Closest(p, maxDist)
	if !ok {
		return missedSigned(), false
	}
	return f.s.t.sign(p, h), true
}
