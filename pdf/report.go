package pdf

import (
	"crownassay/record"
)

// Paper is a size of paper.
type Paper string

// The sizes, ISO 216 and ANSI/ASME Y14.1.
const (
	A4     Paper = "a4"
	Letter Paper = "letter"
)

// Report is what is set.
type Report struct {
	Document *record.Document
	Title    string // a remark of the practice; may be empty
	Patient  string // the practice's own code; may be empty

	Entries []record.Sealed // of the case's record; may be empty
	Kept    *record.Sealed  // the run whose document this is; nil when it is not kept

	Overview []Picture // one or two
	Findings []Finding // the most important first
	Old      *Finding  // the restoration before beside the new one; nil without

	Paper Paper
}

// Finding is a reading with what shows it.
type Finding struct {
	Reading *record.DocReading
	Picture *Picture
	Slice   *Slice
}

// Picture is a drawn scene with what is written over it. Places are shares of
// its width and height from the top left corner.
type Picture struct {
	PNG           []byte
	Width, Height int // pixels
	Says          string
	Ring          *[2]float64 // the place of the finding
	Letters       []Label
	Scale         *Scale
}

// Label is a short text in a picture.
type Label struct {
	At   [2]float64
	Text string
}

// Scale is what a picture's colours mean.
type Scale struct {
	Min, Max float64
	Unit     string
	Limits   []float64
	Says     string // what the value is
}

// Slice is a section in the coordinates of its plane, mm.
type Slice struct {
	Says  string
	Lines []SliceLine
	Mark  *[2]float64 // the place of the finding
	Other *[2]float64 // the other end of its dimension
	Value string      // written at the dimension
	Half  float64     // half the width that is shown, mm
	At    [2]float64  // middle of what is shown
}

// SliceLine is one line of a section.
type SliceLine struct {
	Role   string
	Closed bool
	Points [][2]float64
}
