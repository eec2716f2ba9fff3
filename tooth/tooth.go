package tooth

import (
	"fmt"
	"strconv"

	"crownassay/geom"
)

// Tooth is one permanent tooth. Quadrant is 1 upper right, 2 upper left,
// 3 lower left, 4 lower right, as the patient sees it; Position counts from
// the midline, 1 to 8.
type Tooth struct{ Quadrant, Position int }

// Numbering names a system of tooth numbers.
type Numbering string

// The systems of tooth numbers.
const (
	ISO       Numbering = "iso3950"
	Universal Numbering = "universal"
)

// Class is the kind of a tooth.
type Class string

// The classes of permanent teeth.
const (
	Incisor  Class = "incisor"
	Canine   Class = "canine"
	Premolar Class = "premolar"
	Molar    Class = "molar"
)

// Classes lists the classes from the midline back.
var Classes = []Class{Incisor, Canine, Premolar, Molar}

// Parse reads a tooth number of the stated system; the empty system is ISO
// 3950.
func Parse(s string, n Numbering) (Tooth, error) {
	k, err := strconv.Atoi(s)
	if err != nil {
		return Tooth{}, fmt.Errorf("read tooth %q: not a number; write for example \"46\"", s)
	}
	switch n {
	case ISO, "":
		return parseISO(k)
	case Universal:
		return parseUniversal(k)
	}
	return Tooth{}, fmt.Errorf("read numbering %q: unknown; use %s or %s", n, ISO, Universal)
}

func parseISO(k int) (Tooth, error) {
	t := Tooth{k / 10, k % 10}
	if !t.Valid() {
		return Tooth{}, fmt.Errorf("read tooth %d: no ISO 3950 number of a permanent tooth (11-18, 21-28, 31-38, 41-48);"+
			" Universal numbers need \"numbering: universal\"", k)
	}
	return t, nil
}

// parseUniversal inverts [Tooth.Universal].
func parseUniversal(k int) (Tooth, error) {
	switch {
	case k >= 1 && k <= 8:
		return Tooth{1, 9 - k}, nil
	case k >= 9 && k <= 16:
		return Tooth{2, k - 8}, nil
	case k >= 17 && k <= 24:
		return Tooth{3, 25 - k}, nil
	case k >= 25 && k <= 32:
		return Tooth{4, k - 24}, nil
	}
	return Tooth{}, fmt.Errorf("read tooth %d: Universal numbers of permanent teeth are 1 to 32", k)
}

// Valid reports whether quadrant and position are in range.
func (t Tooth) Valid() bool {
	return t.Quadrant >= 1 && t.Quadrant <= 4 && t.Position >= 1 && t.Position <= 8
}

// ISO returns the ISO 3950 number, such as "46".
func (t Tooth) ISO() string { return strconv.Itoa(10*t.Quadrant + t.Position) }

// Universal returns the Universal number, 1 to 32.
func (t Tooth) Universal() int {
	switch t.Quadrant {
	case 1:
		return 9 - t.Position
	case 2:
		return 8 + t.Position
	case 3:
		return 25 - t.Position
	}
	return 24 + t.Position
}

// Class returns the kind of the tooth.
func (t Tooth) Class() Class {
	switch {
	case t.Position <= 2:
		return Incisor
	case t.Position == 3:
		return Canine
	case t.Position <= 5:
		return Premolar
	}
	return Molar
}

// Upper reports whether the tooth is in the upper arch.
func (t Tooth) Upper() bool { return t.Quadrant <= 2 }

// Anterior reports whether the tooth is an incisor or a canine.
func (t Tooth) Anterior() bool { return t.Position <= 3 }

// FunctionalLingual reports whether the functional cusps, those that bite
// into the opposing fossae, are the lingual (palatal) ones: so in the upper
// arch; in the lower they are the buccal ones (common practice, normal
// occlusion). Anterior teeth have none.
func (t Tooth) FunctionalLingual() bool { return t.Upper() }

// Handedness is the sign of (m x b) . o for the mesial, buccal and occlusal
// directions m, b and o of the tooth.
func (t Tooth) Handedness() float64 {
	if t.Quadrant%2 == 1 {
		return -1
	}
	return 1
}

// Buccal returns the unit buccal (facial) direction from the occlusal and
// mesial ones; it is square to both. The mesial direction must not be
// parallel to the occlusal one.
func (t Tooth) Buccal(occlusal, mesial geom.Vec) geom.Vec {
	return occlusal.Cross(mesial).Mul(t.Handedness()).Unit()
}

// Name returns the tooth in words, such as "lower right first molar".
func (t Tooth) Name() string {
	return [4]string{"upper right ", "upper left ", "lower left ", "lower right "}[t.Quadrant-1] +
		[8]string{"central incisor", "lateral incisor", "canine", "first premolar",
			"second premolar", "first molar", "second molar", "third molar"}[t.Position-1]
}
