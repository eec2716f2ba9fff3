package record

import (
	"encoding/json"
	"fmt"

	"crownassay/reading"
)

// Change is how one reading differs between two runs. Nil values were not
// measured.
type Change struct {
	ID         reading.ID
	Name       string
	Unit       string
	Old, New   *float64
	OldVerdict reading.Verdict
	NewVerdict reading.Verdict
}

// told is what of a document's reading a comparison needs.
type told struct {
	ID      reading.ID      `json:"id"`
	Name    string          `json:"name"`
	Value   *float64        `json:"value"`
	Unit    string          `json:"unit"`
	Verdict reading.Verdict `json:"verdict"`
}

// Changes compares the documents of two runs, in the order of the newer one.
// A reading that only one of them has is compared with nothing. Values that
// are equal to the document's last digit under the same verdict are left out.
func Changes(older, newer []byte) ([]Change, error) {
	a, err := toldBy(older)
	if err != nil {
		return nil, err
	}
	b, err := toldBy(newer)
	if err != nil {
		return nil, err
	}
	was := map[reading.ID]told{}
	for _, r := range a {
		was[r.ID] = r
	}
	var out []Change
	for _, n := range b {
		o := was[n.ID]
		if same(o.Value, n.Value) && o.Verdict == n.Verdict {
			continue
		}
		out = append(out, Change{n.ID, n.Name, n.Unit, o.Value, n.Value, o.Verdict, n.Verdict})
	}
	return out, nil
}

func toldBy(document []byte) ([]told, error) {
	var d struct {
		Readings []told `json:"readings"`
	}
	if err := json.Unmarshal(document, &d); err != nil {
		return nil, fmt.Errorf("read the document of a run: %w", err)
	}
	return d.Readings, nil
}

func same(a, b *float64) bool {
	if a == nil || b == nil {
		return a == b
	}
	return *a == *b
}
