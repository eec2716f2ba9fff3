package record

import (
	"encoding/json"
	"fmt"

	"crownassay/reading"
)

// Part is what of a document has changed since another one of the same case,
// each piece as the document has it.
type Part struct {
	Headline   string
	Frame      []byte
	FinishLine []byte
	Order      []reading.ID // of all readings
	Readings   [][]byte     // that have changed
}

// Part returns the parts of the document that another finish line changes, of
// the readings those that are given.
func (r *Record) Part(changed []reading.ID) (p Part, err error) {
	d := r.document()
	p.Headline = d.Headline
	if p.Frame, err = json.Marshal(d.Frame); err != nil {
		return p, fmt.Errorf("encode frame: %w", err)
	}
	if p.FinishLine, err = json.Marshal(d.FinishLine); err != nil {
		return p, fmt.Errorf("encode finish line: %w", err)
	}
	wanted := make(map[reading.ID]bool, len(changed))
	for _, id := range changed {
		wanted[id] = true
	}
	for i := range d.Readings {
		p.Order = append(p.Order, d.Readings[i].ID)
		if !wanted[d.Readings[i].ID] {
			continue
		}
		b, err := json.Marshal(&d.Readings[i])
		if err != nil {
			return p, fmt.Errorf("encode %s: %w", d.Readings[i].ID, err)
		}
		p.Readings = append(p.Readings, b)
	}
	return p, nil
}
