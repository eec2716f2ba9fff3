package record

import (
	"time"

	"crownassay/reading"
)

// EntryFormat names the form of an entry.
const EntryFormat = "crownassay-entry/1"

// EntryKind says what an entry tells.
type EntryKind string

// The kinds of entries.
const (
	KindRun          EntryKind = "run"          // the case was measured
	KindConfirmation EntryKind = "confirmation" // a person passes a hold point
	KindLot          EntryKind = "lot"          // which block, tool or cement was used
	KindOverride     EntryKind = "override"     // a person judges otherwise than the program
	KindCorrection   EntryKind = "correction"   // an earlier entry does not hold
	KindLuting       EntryKind = "luting"       // how the crown was to be fixed
	KindTryIn        EntryKind = "try-in"       // what was found when the crown was tried in
	KindRecall       EntryKind = "recall"       // what was found later
)

// Entry is one entry of a case's record. Exactly the part of its kind is there.
// An entry is never changed: what turns out to be wrong is said by a later one.
type Entry struct {
	Format   string    `json:"format"`
	Case     int64     `json:"case"`     // number in the store; 0 in a folder
	Number   int64     `json:"number"`   // from 1 on, without a gap
	Previous string    `json:"previous"` // SHA-256 of the entry before; of the first, Beginning
	At       time.Time `json:"at"`       // UTC, to the microsecond
	Who      string    `json:"who"`      // initials; may be empty for a run
	Kind     EntryKind `json:"kind"`

	Run          *RunEntry     `json:"run,omitempty"`
	Confirmation *Confirmed    `json:"confirmation,omitempty"`
	Lot          *LotEntry     `json:"lot,omitempty"`
	Override     *Overridden   `json:"override,omitempty"`
	Correction   *CorrectEntry `json:"correction,omitempty"`
	Luting       *LutingEntry  `json:"luting,omitempty"`
	TryIn        *TryInEntry   `json:"try_in,omitempty"`
	Recall       *RecallEntry  `json:"recall,omitempty"`
}

// Beginning stands in the first entry where the others name the one before.
const Beginning = "0000000000000000000000000000000000000000000000000000000000000000"

// RunEntry is a run: its document by hash, and what it was made from.
type RunEntry struct {
	Number   int64         `json:"number"`          // of the run in the store; 0 in a folder
	Takes    []int64       `json:"takes,omitempty"` // in the store, what the run's row says beside its document
	Line     int64         `json:"line,omitempty"`
	Made     int64         `json:"made,omitempty"` // microseconds since 1970
	Document string        `json:"document"`       // SHA-256 of the document as it is printed
	Stored   string        `json:"stored"`         // SHA-256 of the bytes it is kept in
	Program  string        `json:"program"`        // version
	Tooth    string        `json:"tooth"`
	System   string        `json:"numbering"`
	Material string        `json:"material"`
	Surfaces []KeptSurface `json:"surfaces"`
}

// KeptSurface is a surface of a run by the hash of its file.
type KeptSurface struct {
	Role   string `json:"role"`
	File   string `json:"file"`
	SHA256 string `json:"sha256"`
}

// Confirmed says that a person lets the work pass a hold point, and what the
// program had said there: readings by verdict, those overridden apart.
type Confirmed struct {
	HoldPoint  reading.HoldPoint `json:"hold_point"`
	Run        int64             `json:"run"` // number of the entry of the run that was looked at
	Fails      int               `json:"fails"`
	Undecided  int               `json:"undecided"`
	Unmeasured int               `json:"unmeasured"`
	Overridden int               `json:"overridden"`
	Remark     string            `json:"remark"`
}

// Things are what has a lot number.
var Things = []string{"block", "tool", "cement"}

// LotEntry is what was used, as typed or as its code says.
type LotEntry struct {
	Thing   string `json:"thing"` // one of Things
	Lot     string `json:"lot"`
	Product string `json:"product"` // GTIN-14, where a code was scanned
	Serial  string `json:"serial"`
	Expires string `json:"expires"` // YYYY-MM-DD
	Code    string `json:"code"`    // as scanned, byte for byte; empty when the lot was typed
}

// Overridden is a person's own verdict on a reading, with the reason.
type Overridden struct {
	Reading reading.ID      `json:"reading"`
	Run     int64           `json:"run"` // number of the entry of the run
	From    reading.Verdict `json:"from"`
	To      reading.Verdict `json:"to"` // conforms or fails
	Reason  string          `json:"reason"`
}

// CorrectEntry says that an earlier entry does not hold, and why. A correction
// can be corrected too; then the first one holds again.
type CorrectEntry struct {
	Entry  int64  `json:"entry"`
	Reason string `json:"reason"`
}

// part returns the part of the entry's kind, and how many parts there are.
func (e *Entry) part() (has bool, parts int) {
	there := map[EntryKind]bool{
		KindRun: e.Run != nil, KindConfirmation: e.Confirmation != nil, KindLot: e.Lot != nil,
		KindOverride: e.Override != nil, KindCorrection: e.Correction != nil,
		KindLuting: e.Luting != nil, KindTryIn: e.TryIn != nil, KindRecall: e.Recall != nil,
	}
	for _, v := range there {
		if v {
			parts++
		}
	}
	return there[e.Kind], parts
}

// RunOf is the run part of an entry about a document that is kept as stored.
func RunOf(document, stored []byte) (*RunEntry, error) {
	d, err := ReadDocument(document)
	if err != nil {
		return nil, err
	}
	r := &RunEntry{Document: Hash(document), Stored: Hash(stored), Program: d.Version, Tooth: d.Tooth, System: d.Numbering, Material: d.Material, Surfaces: []KeptSurface{}}
	for _, s := range d.Surfaces {
		r.Surfaces = append(r.Surfaces, KeptSurface{s.Role, s.File, s.SHA256})
	}
	return r, nil
}
