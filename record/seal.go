package record

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/gowebpki/jcs"

	"crownassay/reading"
)

// Sealed is an entry as it is kept: its canonical bytes (RFC 8785) and their
// hash, which the next entry names.
type Sealed struct {
	Entry
	Bytes []byte
	Hash  string
}

// Raw is what a store or a folder holds of an entry, not yet looked at.
type Raw struct {
	Number int64
	Bytes  []byte
	Hash   string
}

// Hash is SHA-256 in hexadecimal.
func Hash(b []byte) string {
	s := sha256.Sum256(b)
	return hex.EncodeToString(s[:])
}

// Seal makes an entry's bytes and hash. The same entry gives the same bytes on
// every machine.
func Seal(e Entry) (Sealed, error) {
	e.Format, e.At = EntryFormat, e.At.UTC().Truncate(time.Microsecond)
	if err := e.check(); err != nil {
		return Sealed{}, &Unfit{err.Error()}
	}
	b, err := canonical(e)
	return Sealed{e, b, Hash(b)}, err
}

func canonical(v any) ([]byte, error) {
	b, err := json.Marshal(v)
	if err != nil {
		return nil, fmt.Errorf("write entry: %w", err)
	}
	if b, err = jcs.Transform(b); err != nil {
		return nil, fmt.Errorf("write entry: %w", err)
	}
	return b, nil
}

// Open reads what is kept of an entry and refuses what Seal would not have
// made: any byte that differs.
func (r Raw) Open() (Sealed, error) {
	if h := Hash(r.Bytes); h != r.Hash {
		return Sealed{}, fmt.Errorf("its content has the hash %s and not %s, as kept beside it", short12(h), short12(r.Hash))
	}
	d := json.NewDecoder(bytes.NewReader(r.Bytes))
	d.DisallowUnknownFields()
	var e Entry
	if err := d.Decode(&e); err != nil {
		return Sealed{}, fmt.Errorf("it cannot be read: %w", err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return Sealed{}, errors.New("something follows its end")
	}
	s, err := Seal(e)
	if err != nil {
		return Sealed{}, err
	}
	if !bytes.Equal(s.Bytes, r.Bytes) {
		return Sealed{}, errors.New("it is not in canonical form")
	}
	return s, nil
}

func short12(h string) string { return h[:min(len(h), 12)] }

// Bounds of what is written by hand, in bytes: a note, not a letter.
const (
	mostWho  = 40
	mostText = 2000
	mostCode = 400
)

// Unfit says why an entry cannot be made as it stands, and what to do.
type Unfit struct{ Text string }

func (u *Unfit) Error() string { return u.Text }

// check refuses an entry that says nothing or too much.
func (e *Entry) check() error {
	has, parts := e.part()
	switch {
	case e.Format != EntryFormat:
		return fmt.Errorf("entry of form %q, want %s", e.Format, EntryFormat)
	case !has || parts != 1:
		return fmt.Errorf("entry of kind %q with %d parts, want the one of its kind", e.Kind, parts)
	case e.Number < 1 || e.Case < 0 || !isHash(e.Previous):
		return errors.New("entry without its place in the record")
	case e.Who == "" && e.Kind != KindRun:
		return errors.New("say who: give the initials")
	case len(e.Who) > mostWho:
		return fmt.Errorf("who is longer than %d bytes: give initials", mostWho)
	}
	switch e.Kind {
	case KindRun:
		return e.Run.check()
	case KindConfirmation:
		return e.Confirmation.check()
	case KindLot:
		return e.Lot.check()
	case KindOverride:
		return e.Override.check()
	case KindLuting:
		return e.Luting.check()
	case KindTryIn:
		return e.TryIn.Check()
	case KindRecall:
		return e.Recall.Check()
	}
	return e.Correction.check(e.Number)
}

func (r *RunEntry) check() error {
	if !isHash(r.Document) || !isHash(r.Stored) || r.Surfaces == nil {
		return errors.New("run without the hash of its document")
	}
	for _, s := range r.Surfaces {
		if !isHash(s.SHA256) {
			return fmt.Errorf("%s surface without the hash of its file", s.Role)
		}
	}
	return nil
}

// holdPoints are those a person can confirm.
var holdPoints = []reading.HoldPoint{reading.Preparation, reading.Design, reading.TryIn, reading.Recall}

func (c *Confirmed) check() error {
	if !slices.Contains(holdPoints, c.HoldPoint) {
		return fmt.Errorf("unknown hold point %q; it is one of preparation, design, try-in, recall", c.HoldPoint)
	}
	return texts("remark", c.Remark, 0)
}

func (l *LotEntry) check() error {
	if !slices.Contains(Things, l.Thing) {
		return fmt.Errorf("unknown thing %q; it is one of %s", l.Thing, strings.Join(Things, ", "))
	}
	if l.Lot == "" && l.Serial == "" {
		return errors.New("neither a lot nor a serial number: type what stands on the package")
	}
	for _, s := range []string{l.Lot, l.Serial, l.Product, l.Expires, l.Code} {
		if len(s) > mostCode {
			return fmt.Errorf("a lot of %d bytes; give what stands on the package, at most %d", len(s), mostCode)
		}
	}
	return nil
}

func (o *Overridden) check() error {
	if o.To != reading.Conforms && o.To != reading.Fails {
		return fmt.Errorf("a verdict is overridden by conforms or fails, not by %q", o.To)
	}
	if o.To == o.From {
		return fmt.Errorf("the program says %s already", o.From)
	}
	return texts("reason", o.Reason, 1)
}

func (c *CorrectEntry) check(own int64) error {
	if c.Entry < 1 || c.Entry >= own {
		return fmt.Errorf("entry %d is not before entry %d, which is to correct it", c.Entry, own)
	}
	return texts("reason", c.Reason, 1)
}

// texts refuses an empty or an overlong text.
func texts(name, s string, least int) error {
	if n := len(strings.TrimSpace(s)); n < least {
		return fmt.Errorf("the %s is missing: say why in a few words", name)
	}
	if len(s) > mostText {
		return fmt.Errorf("the %s has %d bytes, more than %d", name, len(s), mostText)
	}
	return nil
}

func isHash(s string) bool {
	b, err := hex.DecodeString(s)
	return err == nil && len(b) == sha256.Size && strings.ToLower(s) == s
}
