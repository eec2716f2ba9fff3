package meshio

import (
	"encoding/binary"
	"fmt"
	"math"

	"crownassay/geom"
	"crownassay/mesh"
)

// A binary STL is a header of 80 bytes, the facet count (uint32) and 50 bytes
// a facet: normal and three corners as float32, little endian, then two
// attribute bytes, which are ignored like the normal.
const (
	stlHead   = 84
	stlFacet  = 50
	stlCorner = 12 // of a facet: where the first corner stands
)

// decodeSTLBinary reads a binary STL of at least stlHead bytes.
func decodeSTLBinary(data []byte, path string) (*File, error) {
	n, notes, err := stlCount(data, path)
	if err != nil {
		return nil, err
	}
	m, err := weldSTL(data[stlHead:], n, path)
	if err != nil {
		return nil, err
	}
	return &File{Format: STLBinary, Mesh: m, Notes: notes}, nil
}

// stlCount decides how many facets to read, and says where the header's count
// and the bytes disagree. A file that ends inside a facet is cut off.
func stlCount(data []byte, path string) (n int, notes []string, err error) {
	said := int(binary.LittleEndian.Uint32(data[80:]))
	room := len(data) - stlHead
	held := room / stlFacet
	switch {
	case said == held && room%stlFacet == 0:
		return held, nil, nil
	case said > held && room%stlFacet != 0:
		return 0, nil, atByte(path, len(data), hintAgain,
			"the file is cut off: it ends inside facet %d of %d", held+1, said)
	case said > held || room%stlFacet == 0 && plausibleSTL(data, said, held) || said == 0:
		note := fmt.Sprintf("the header counts %d facets but the file holds %d; all %d were read", said, held, held)
		return held, []string{note}, nil
	}
	note := fmt.Sprintf("%d bytes after the last facet were ignored", room-said*stlFacet)
	return said, []string{note}, nil
}

// plausibleSTL reports whether the records lo to hi-1 look like facets: corners
// finite, 0 or of a size that any unit gives a thing between dust and a house,
// and not all 0. Random bytes pass with a chance of about 1 in 10^6 a record.
func plausibleSTL(data []byte, lo, hi int) bool {
	some := uint32(0)
	for i := lo; i < hi; i++ {
		at := stlHead + i*stlFacet + stlCorner
		for k := 0; k < 36; k += 4 {
			b := binary.LittleEndian.Uint32(data[at+k:]) &^ (1 << 31)
			x := math.Float32frombits(b)
			if b != 0 && !(x > 1e-12 && x < 1e8) {
				return false
			}
			some |= b
		}
	}
	return some != 0
}

// stlWelder reads facets in batches and numbers their corners by their bits.
type stlWelder struct {
	path string
	weld *welder[uint32]
	f    [][3]int32
	keys [weldBatch]coordKey[uint32]
	num  [weldBatch]int32
}

// weldSTL reads n facets. A closed mesh has half as many vertices as facets;
// the table grows if there are more.
func weldSTL(data []byte, n int, path string) (*mesh.Mesh, error) {
	w := &stlWelder{path: path, weld: newWelder[uint32](n/2 + n/32), f: make([][3]int32, n)}
	const step = weldBatch / 3
	for lo := 0; lo < n; lo += step {
		hi := min(lo+step, n)
		if err := w.load(data, lo, hi); err != nil {
			return nil, err
		}
		w.weld.batch(w.keys[:3*(hi-lo)], w.num[:])
		for i := range hi - lo {
			w.f[lo+i] = [3]int32(w.num[3*i : 3*i+3])
		}
	}
	return &mesh.Mesh{V: points(w.weld.key, widen), F: w.f}, nil
}

// load takes the corners of the facets lo to hi-1 into keys and refuses those
// that are not finite.
func (w *stlWelder) load(data []byte, lo, hi int) error {
	for i := range hi - lo {
		rec := data[(lo+i)*stlFacet+stlCorner:][:36]
		for k := range 3 {
			key, ok := stlKey(rec[12*k:])
			if !ok {
				return atByte(w.path, stlHead+(lo+i)*stlFacet+stlCorner+12*k, hintAgain,
					"corner %d of facet %d has a coordinate that is not a finite number", k+1, lo+i+1)
			}
			w.keys[3*i+k] = key
		}
	}
	return nil
}

// stlKey returns the bits of the corner at b, -0 folded to +0, and whether all
// are finite.
func stlKey(b []byte) (k coordKey[uint32], ok bool) {
	_ = b[11]
	k = coordKey[uint32]{plusZero(binary.LittleEndian.Uint32(b)),
		plusZero(binary.LittleEndian.Uint32(b[4:])), plusZero(binary.LittleEndian.Uint32(b[8:]))}
	const exp = 0xFF << 23 // all set in NaN and infinity
	return k, k[0]&exp != exp && k[1]&exp != exp && k[2]&exp != exp
}

func plusZero(b uint32) uint32 {
	if b == 1<<31 {
		return 0
	}
	return b
}

// widen turns a key into a point.
func widen(k coordKey[uint32]) geom.Vec {
	return geom.V(float64(math.Float32frombits(k[0])),
		float64(math.Float32frombits(k[1])), float64(math.Float32frombits(k[2])))
}
