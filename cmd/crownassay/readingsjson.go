package main

import (
	"encoding/json"
	"io"

	"crownassay/conformity"
	"crownassay/reading"
)

type readingsDocument struct {
	Format      string             `json:"format"`
	Conventions []conventionJSON   `json:"conventions"`
	Readings    []measurandJSON    `json:"readings"`
	Materials   []materialJSON     `json:"materials"`
	CementSpace map[string]float64 `json:"cement_space"`
}

type conventionJSON struct {
	Name string `json:"name"`
	Text string `json:"text"`
}

type measurandJSON struct {
	ID         reading.ID        `json:"id"`
	Name       string            `json:"name"`
	HoldPoint  reading.HoldPoint `json:"hold_point"`
	Unit       string            `json:"unit"`
	Sense      reading.Sense     `json:"sense"`
	Profile    bool              `json:"profile"`
	Definition string            `json:"definition"`
	Limits     []rowJSON         `json:"limits"`
}

type rowJSON struct {
	Part      string   `json:"part,omitempty"`
	Materials []string `json:"materials,omitempty"`
	Teeth     []string `json:"teeth,omitempty"`
	Min       *float64 `json:"min,omitempty"`
	Max       *float64 `json:"max,omitempty"`
	Source    string   `json:"source"`
	Status    string   `json:"status"`
}

type materialJSON struct {
	Name      string  `json:"name"`
	Title     string  `json:"title"`
	Thickness float64 `json:"least_thickness"`
	Source    string  `json:"source"`
	Status    string  `json:"status"`

	Mechanics *mechanicsJSON `json:"mechanics,omitempty"`
}

type mechanicsJSON struct {
	Modulus   float64 `json:"modulus_gpa,omitempty"`
	Strength  float64 `json:"strength_mpa,omitempty"`
	Class     int     `json:"class,omitempty"`
	Shrinkage float64 `json:"shrinkage"`
	Source    string  `json:"source"`
	Status    string  `json:"status"`
}

func newMaterialJSON(m conformity.Material) materialJSON {
	j := materialJSON{Name: m.Name, Title: m.Title, Thickness: m.Thickness, Source: m.Source, Status: m.Status}
	if m.Mechanics != (conformity.Mechanics{}) {
		k := mechanicsJSON(m.Mechanics)
		j.Mechanics = &k
	}
	return j
}

// readingsJSON writes the table as one JSON document.
func readingsJSON(w io.Writer, l *conformity.Limits) error {
	d := readingsDocument{Format: "crownassay-readings/1", CementSpace: map[string]float64{"mm": l.CementSpace.MM}}
	for _, c := range reading.Conventions {
		d.Conventions = append(d.Conventions, conventionJSON(c))
	}
	for _, m := range reading.Measurands {
		j := measurandJSON{m.ID, m.Name, m.HoldPoint, string(m.Unit), m.Sense, m.Sectioned, m.Definition, []rowJSON{}}
		for _, r := range l.RowsOf(m.ID) {
			j.Limits = append(j.Limits, rowJSON{r.Part, r.Materials, r.Classes, r.Min, r.Max, r.Source, r.Status})
		}
		d.Readings = append(d.Readings, j)
	}
	for _, m := range l.Materials {
		d.Materials = append(d.Materials, newMaterialJSON(m))
	}
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	return e.Encode(d)
}
