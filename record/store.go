package record

import (
	"context"
	"errors"
	"io"
	"time"

	"crownassay/geom"
)

// ErrNotFound says that the store keeps nothing of that number or name.
var ErrNotFound = errors.New("not in the store")

// ErrTooLarge says that a mesh file has more bytes than are accepted.
var ErrTooLarge = errors.New("the file is too large")

// Kept is a case as the store keeps it: what the operator said about it. The
// surfaces are its takes.
type Kept struct {
	ID        int64
	Tooth     string // number, in the system of Numbering
	Numbering string // iso3950 or universal
	Material  string // name of a row of the limits table
	Unit      string // of mesh files that state none: mm, um, cm, m or in
	Patient   string // a code of the practice's own, never a name
	Title     string // a short remark, may be empty
	ScannerUM float64
	Mesial    *geom.Vec // roughly mesial, given by the operator; nil when it is to be found
	At        *geom.Vec // a point on the preparation; nil when it is to be found
	CementUM  *float64  // cement space, um; nil for the limits table's
	ToolUM    *float64  // radius of the finest milling tool's tip, um; nil for the limits table's
	Block     string    // name of a block of the limits table; empty for the smallest that holds the crown
	Own       OwnLimits // the practice's own limits
	Created   time.Time
	Changed   time.Time
}

// OwnLimits is a file of the practice's own limits, as it was given.
type OwnLimits struct {
	File string // its name, without folders; empty for the built-in limits alone
	Text string // YAML
}

// Take is one scan of one role. A new scan of the same role is a new take;
// none is ever overwritten. The newest confirmed take of a role is the one
// that is measured.
type Take struct {
	ID        int64
	Case      int64
	Role      string // one of the roles of a case, or empty when it is not known
	Guess     string // the role guessed from the geometry; empty when none could be
	Why       string // what the guess rests on, in words
	Confirmed bool   // by the operator
	File      string // the name it came under, without folders
	SHA256    string // of its content, hexadecimal
	Bytes     int64
	Form      string // of the file, such as stl-binary
	Triangles int
	Unit      string // as read
	Added     time.Time
}

// Run is one measuring of a case: the document as [Record.WriteJSON] made it.
type Run struct {
	ID       int64
	Case     int64
	Takes    []int64 // that were measured
	Line     int64   // the operator's finish line that was used; 0 for the traced one
	Document []byte
	Made     time.Time
	Who      string // who had it measured; kept in the record's entry alone, and empty when a run is read back
}

// Drawn is a finish line that an operator has drawn or corrected.
type Drawn struct {
	ID     int64
	Case   int64
	Points []geom.Vec // closed, without a repeated end, mm, in the coordinates of the prepared surface
	Who    string
	When   time.Time
	Undone bool // taken back; kept for the history
}

// ScannerCheck is a check of the practice's scanner on a reference body.
type ScannerCheck struct {
	ID        int64
	Document  []byte // JSON, as package gauge makes it
	Withdrawn string // why it does not hold; empty while it does
	Added     time.Time
}

// Holding returns the documents of the checks that were not withdrawn.
func Holding(checks []ScannerCheck) [][]byte {
	var out [][]byte
	for _, c := range checks {
		if c.Withdrawn == "" {
			out = append(out, c.Document)
		}
	}
	return out
}

// Blob is a mesh file by its content.
type Blob struct {
	SHA256 string
	Bytes  int64
}

// Store keeps cases. What a method has returned without an error is kept, also
// when the machine is switched off at that moment; nothing half-written is
// ever seen. Methods may be called from any goroutine. What is not there is
// ErrNotFound.
type Store interface {
	// AddCase keeps a new case; ID and times are set by the store.
	AddCase(ctx context.Context, k Kept) (Kept, error)
	// ChangeCase replaces what is said about a case.
	ChangeCase(ctx context.Context, k Kept) (Kept, error)
	Case(ctx context.Context, id int64) (Kept, error)
	// Cases lists the cases, the one changed last first.
	Cases(ctx context.Context) ([]Kept, error)

	// PutMesh keeps the content of a mesh file of at most limit bytes; a longer
	// one is ErrTooLarge.
	PutMesh(ctx context.Context, r io.Reader, limit int64) (Blob, error)
	// MeshPath returns where the content of that hash can be read.
	MeshPath(ctx context.Context, sha256 string) (string, error)
	// AddTake keeps a take of a mesh that was put before. The same content once
	// more in the same case is the take that is there.
	AddTake(ctx context.Context, t Take) (Take, error)
	// ChangeTake keeps what is said about a take: its role, the guess with what
	// it rests on, and whether it is confirmed. The rest of a take never changes.
	ChangeTake(ctx context.Context, t Take) (Take, error)
	// Takes lists the takes of a case in the order they were added.
	Takes(ctx context.Context, id int64) ([]Take, error)

	// AddRun keeps a run and its entry in the case's record.
	AddRun(ctx context.Context, r Run) (Run, error)
	// Runs lists the newest runs of a case, the newest first, at most limit.
	Runs(ctx context.Context, id int64, limit int) ([]Run, error)

	// Book returns the record of a case.
	Book(id int64) Book

	AddLine(ctx context.Context, d Drawn) (Drawn, error)
	// Lines lists the drawn lines of a case in the order they were drawn.
	Lines(ctx context.Context, id int64) ([]Drawn, error)
	// UndoLine takes the newest line that is not undone back and returns the one
	// that holds then; its ID is 0 when that is the traced one.
	UndoLine(ctx context.Context, id int64) (Drawn, error)

	// SetAside keeps what can be made again, of one kind of a case, under a key
	// that says what it was made of; what was aside of that kind is gone then.
	SetAside(ctx context.Context, id int64, kind, key string, content []byte) error
	// Aside returns what was set aside of a kind under that key, or ErrNotFound.
	Aside(ctx context.Context, id int64, kind, key string) ([]byte, error)

	// AddScannerCheck keeps a check of a scanner; ScannerChecks lists them in the
	// order they were added.
	AddScannerCheck(ctx context.Context, document []byte) (ScannerCheck, error)
	ScannerChecks(ctx context.Context) ([]ScannerCheck, error)
	// WithdrawScannerCheck says why a check does not hold; it stays on record.
	WithdrawScannerCheck(ctx context.Context, id int64, why string) (ScannerCheck, error)

	// Setting returns a setting of the bench, or ErrNotFound.
	Setting(ctx context.Context, name string) (string, error)
	SetSetting(ctx context.Context, name, value string) error
}

// ErrNoPrepared says that a case has nothing to measure.
var ErrNoPrepared = errors.New("no take is confirmed as the prepared arch: add its scan and confirm its role")

// Current returns, of a case's takes, the one that is measured in each role:
// the newest confirmed one.
func Current(takes []Take) map[string]Take {
	out := map[string]Take{}
	for _, t := range takes {
		if t.Role != "" && t.Confirmed {
			out[t.Role] = t
		}
	}
	return out
}

// HeldLine returns, of a case's drawn lines, the one that is measured by: the
// newest that was not taken back; its ID is 0 when that is the traced one.
func HeldLine(lines []Drawn) (d Drawn) {
	for _, l := range lines {
		if !l.Undone {
			d = l
		}
	}
	return d
}
