package visit

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// FuzzWith: whatever a practice's own plan is, it is refused with a message or
// is a plan whose stages can be gone through.
func FuzzWith(f *testing.F) {
	f.Add("stages:\n  - {name: onset, omit: true}\n")
	f.Add("resources:\n  - {name: chair, title: Chair, count: 3}\n")
	f.Fuzz(func(t *testing.T, text string) {
		p, err := With("own.yaml", text)
		if (err == nil) == (p == nil) {
			t.Fatalf("plan %v with the error %v", p, err)
		}
		if p != nil && len(p.For("zirconia-3y")) == 0 {
			t.Errorf("a plan without a stage of %q", text)
		}
	})
}

// FuzzReadVisits: whatever the file holds, it is refused or gives visits that
// are the same when they are written and read again.
func FuzzReadVisits(f *testing.F) {
	f.Add(`[{"chair":1,"taps":[{"kind":"stage","stage":"milling","at":"2026-05-31T09:00:00Z"},{"kind":"end","at":"2026-05-31T09:30:00Z"}]}]`)
	f.Fuzz(func(t *testing.T, text string) {
		all, err := ReadVisits(strings.NewReader(text))
		if err != nil {
			return
		}
		written, err := json.Marshal(Documents(all))
		if err != nil {
			return // a year that JSON has no form for
		}
		again, err := ReadVisits(bytes.NewReader(written))
		if d := cmp.Diff(all, again, cmpopts.EquateEmpty()); d != "" || err != nil {
			t.Errorf("read again: %v (-want +got):\n%s", err, d)
		}
	})
}
