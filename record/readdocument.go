package record

import (
	"encoding/json"
	"fmt"

	"crownassay/reading"
	"crownassay/unit"
)

// Document is a run's JSON document as read back. Numbers that are null are
// nil.
type Document struct {
	Format     string        `json:"format"`
	Version    string        `json:"version"`
	Tooth      string        `json:"tooth"`
	Numbering  string        `json:"numbering"`
	Material   string        `json:"material"`
	Surfaces   []surfaceJSON `json:"surfaces"`
	Settings   DocSettings   `json:"settings"`
	Frame      *DocFrame     `json:"frame"`
	FinishLine [][3]float64  `json:"finish_line"`
	Readings   []DocReading  `json:"readings"`
	Headline   string        `json:"headline"`
	Notes      []string      `json:"notes"`
}

// DocSettings are a document's settings.
type DocSettings struct {
	CementSpace    float64 `json:"cement_space"`
	LeastThickness float64 `json:"least_thickness"`
	ScannerUM      float64 `json:"scanner_uncertainty_um"`
	ScannerStated  bool    `json:"scanner_stated"`
	ScannerFrom    string  `json:"scanner_from"`
	Limits         string  `json:"limits"`
	Rule           string  `json:"rule"`
}

// DocFrame is a document's frame.
type DocFrame struct {
	Origin    [3]float64  `json:"origin"`
	Placement [3]float64  `json:"placement"`
	Mesial    *[3]float64 `json:"mesial"`
	Buccal    *[3]float64 `json:"buccal"`
	Zero      [3]float64  `json:"zero"`
	Turn      [3]float64  `json:"turn"`
}

// DocReading is a document's reading.
type DocReading struct {
	ID          reading.ID        `json:"id"`
	Name        string            `json:"name"`
	HoldPoint   reading.HoldPoint `json:"hold_point"`
	Value       *float64          `json:"value"`
	Unit        unit.Unit         `json:"unit"`
	Uncertainty *float64          `json:"uncertainty"`
	Parts       []DocPart         `json:"parts"`
	Limit       *DocLimit         `json:"limit"`
	Verdict     reading.Verdict   `json:"verdict"`
	At          *DocPlace         `json:"at"`
	Profile     []DocSample       `json:"profile"`
	Subs        []DocSub          `json:"subs"`
	Note        string            `json:"note"`
	Reason      string            `json:"reason"`
	Next        string            `json:"next"`
}

// DocPart is one part of the uncertainty of a document's reading.
type DocPart struct {
	Name     string  `json:"name"`
	Standard float64 `json:"standard"`
}

// DocLimit is the limit of a document's reading.
type DocLimit struct {
	Min    *float64 `json:"min"`
	Max    *float64 `json:"max"`
	Source string   `json:"source"`
	Status string   `json:"status"`
}

// DocPlace is where a document's reading was found.
type DocPlace struct {
	Azimuth *float64   `json:"azimuth"`
	Sector  *string    `json:"sector"`
	Point   [3]float64 `json:"point"`
}

// DocSample is one value of a profile.
type DocSample struct {
	Azimuth float64  `json:"azimuth"`
	Value   *float64 `json:"value"`
}

// DocSub is a further value of a document's reading.
type DocSub struct {
	Name    string           `json:"name"`
	Value   *float64         `json:"value"`
	Unit    unit.Unit        `json:"unit"`
	Limit   *DocLimit        `json:"limit"`
	Verdict *reading.Verdict `json:"verdict"`
}

// ReadDocument reads the JSON document of a run.
func ReadDocument(b []byte) (*Document, error) {
	var d Document
	if err := json.Unmarshal(b, &d); err != nil {
		return nil, fmt.Errorf("read the document of a run: %w", err)
	}
	if d.Format != Format {
		return nil, fmt.Errorf("read the document of a run: it is of form %q, want %s", d.Format, Format)
	}
	return &d, nil
}

// Reading returns a document's reading; nil where it has none of that id.
func (d *Document) Reading(id reading.ID) *DocReading {
	for i := range d.Readings {
		if d.Readings[i].ID == id {
			return &d.Readings[i]
		}
	}
	return nil
}

// Found is what was measured of a document's reading, with its limit.
func (r *DocReading) Found() reading.Reading {
	q := reading.Reading{ID: r.ID, Verdict: r.Verdict, Reason: r.Reason}
	if r.Value == nil && q.Reason == "" {
		q.Reason = "the document has no value"
	}
	if r.Value != nil {
		q.Value = *r.Value
	}
	if r.Uncertainty != nil {
		q.Expanded = *r.Uncertainty
	}
	if r.Limit != nil {
		q.Limit = &reading.Limit{Min: r.Limit.Min, Max: r.Limit.Max, Source: r.Limit.Source, Status: r.Limit.Status}
	}
	return q
}
