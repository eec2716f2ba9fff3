package web

import (
	"context"

	"crownassay/geom"
	"crownassay/reading"
	"crownassay/record"
)

// Measurer measures cases of the store and says what is to be drawn. Cases
// are given by their number in the store. A case that cannot be measured is
// an error whose text says what is wrong and what to do.
type Measurer interface {
	// Inspect says what a mesh file holds and what it may be beside the case's
	// takes.
	Inspect(ctx context.Context, id int64, path, name string) (Inspection, error)
	// TakeMesh returns a take's mesh as it is in its file, in millimetres.
	TakeMesh(ctx context.Context, t record.Take) (Mesh, error)
	// Mesh returns the surface of a role as it was measured.
	Mesh(ctx context.Context, id int64, role string) (Mesh, error)
	// Maps lists the readings that can be shown on a surface.
	Maps(ctx context.Context, id int64) ([]MapInfo, error)
	// Map returns a reading's value at each vertex of Mesh, NaN where none is.
	Map(ctx context.Context, id int64, role string, r reading.ID) ([]float32, error)
	// Slice cuts all surfaces of a case.
	Slice(ctx context.Context, id int64, c Cut) (Section, error)
	// Redraw measures anew what depends on the finish line.
	Redraw(ctx context.Context, id int64, points []geom.Vec) (Redrawn, error)
}

// Queue runs the measuring of cases as jobs.
type Queue interface {
	Start(ctx context.Context, id int64) (record.Job, error)
	Job(ctx context.Context, job int64) (record.Job, error)
	// Latest returns the newest job of a case, or ErrNotFound.
	Latest(ctx context.Context, id int64) (record.Job, error)
	Cancel(ctx context.Context, job int64) (record.Job, error)
	// Watch sends the job now and after each change until it has ended or the
	// context has; then it closes the channel.
	Watch(ctx context.Context, job int64) (<-chan record.Job, error)
	// First returns the document of the readings that are there already; nil
	// when there are none.
	First(job int64) []byte
}

// Inspection is what a mesh file holds.
type Inspection struct {
	Form      string // such as stl-binary
	Triangles int
	Unit      string // of the file, or the likely one
	Role      string // guessed; empty when none can be told
	Why       string // what the guess rests on
	Notes     []string
}

// Mesh is what is drawn of a surface.
type Mesh struct {
	Positions []float32 // x, y, z of each vertex, mm
	Indices   []uint32  // three of each triangle
	Tag       string    // changes with the content
}

// MapInfo is a reading that can be shown on a surface.
type MapInfo struct {
	Reading reading.ID
	Role    string
	Unit    string
	Says    string // what the value at a vertex is
}

// Cut is where surfaces are cut: by the half plane of an azimuth, or by a
// plane.
type Cut struct {
	Azimuth *float64 // degrees
	Point   geom.Vec // of the plane
	Normal  geom.Vec // unit
}

// Section is a cut through all surfaces in the coordinates of its plane.
type Section struct {
	Origin, Right, Up geom.Vec // of the coordinates, in space
	Lines             []SectionLine
}

// SectionLine is one connected line of a section.
type SectionLine struct {
	Role   string
	Closed bool
	Points [][2]float64 // along Right and Up, mm
}

// Redrawn is a case measured about another finish line.
type Redrawn struct {
	Record *record.Record
	Points []geom.Vec   // as given, moved onto the surface
	Again  []reading.ID // made anew; the others are as they were
}
