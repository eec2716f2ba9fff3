package record

import (
	"encoding/json"
	"io"
	"math"
	"strconv"

	"crownassay/geom"
	"crownassay/reading"
	"crownassay/tooth"
	"crownassay/unit"
)

// num is a number of the document: rounded to 6 decimals, a nanometre in a
// length, and null when it is not finite.
type num float64

// MarshalJSON writes plain decimals without an exponent.
func (x num) MarshalJSON() ([]byte, error) {
	f := float64(x)
	if math.IsNaN(f) || math.IsInf(f, 0) {
		return []byte("null"), nil
	}
	s := strconv.FormatFloat(f, 'f', 6, 64)
	f, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return nil, err
	}
	if f == 0 {
		f = 0 // no minus zero
	}
	return strconv.AppendFloat(nil, f, 'f', -1, 64), nil
}

type vec [3]num

func toVec(v geom.Vec) vec { return vec{num(v.X), num(v.Y), num(v.Z)} }

func toVecPtr(v *geom.Vec) *vec {
	if v == nil {
		return nil
	}
	w := toVec(*v)
	return &w
}

type document struct {
	Format     string        `json:"format"`
	Version    string        `json:"version"`
	Tooth      string        `json:"tooth"`
	Numbering  string        `json:"numbering"`
	Material   string        `json:"material"`
	Surfaces   []surfaceJSON `json:"surfaces"`
	Settings   settingsJSON  `json:"settings"`
	Frame      *frameJSON    `json:"frame"`
	FinishLine []vec         `json:"finish_line"`
	Readings   []readingJSON `json:"readings"`
	Headline   string        `json:"headline"`
	Notes      []string      `json:"notes"`
	Budget     *drawsJSON    `json:"budget,omitempty"`
}

type surfaceJSON struct {
	Role      string `json:"role"`
	File      string `json:"file"`
	SHA256    string `json:"sha256"`
	Triangles int    `json:"triangles"`
	Unit      string `json:"unit"`
}

type settingsJSON struct {
	CementSpace    num    `json:"cement_space"`
	LeastThickness num    `json:"least_thickness"`
	ScannerUM      num    `json:"scanner_uncertainty_um"`
	ScannerStated  bool   `json:"scanner_stated"`
	ScannerFrom    string `json:"scanner_from,omitempty"`
	Limits         string `json:"limits"`
	Rule           string `json:"rule,omitempty"`
}

type frameJSON struct {
	Origin    vec  `json:"origin"`
	Placement vec  `json:"placement"`
	Mesial    *vec `json:"mesial"`
	Buccal    *vec `json:"buccal"`
	Zero      vec  `json:"zero"`
	Turn      vec  `json:"turn"`
}

type readingJSON struct {
	ID          reading.ID        `json:"id"`
	Name        string            `json:"name"`
	HoldPoint   reading.HoldPoint `json:"hold_point"`
	Value       *num              `json:"value"`
	Unit        unit.Unit         `json:"unit"`
	Uncertainty *num              `json:"uncertainty"`
	Parts       []partJSON        `json:"parts"`
	Limit       *limitJSON        `json:"limit"`
	Verdict     reading.Verdict   `json:"verdict"`
	At          *placeJSON        `json:"at"`
	Profile     []sampleJSON      `json:"profile"`
	Subs        []subJSON         `json:"subs"`
	Note        string            `json:"note"`
	Reason      string            `json:"reason"`
	Next        string            `json:"next"`
	Conformance *num              `json:"conformance,omitempty"`
	Budget      *budgetJSON       `json:"budget,omitempty"`
}

// drawsJSON is how the readings were drawn again.
type drawsJSON struct {
	Draws     int    `json:"draws"`
	Failed    int    `json:"failed"`
	Seed      uint64 `json:"seed"`
	NoiseUM   num    `json:"noise_um"`
	ScannerUM num    `json:"scanner_um"`
}

// budgetJSON is the budget of one reading: what its parts combine to, and what
// measuring again on perturbed surfaces gave.
type budgetJSON struct {
	Combined   num             `json:"combined"`
	Coverage   num             `json:"coverage"`
	MonteCarlo *monteCarloJSON `json:"monte_carlo"`
}

type monteCarloJSON struct {
	Draws    int `json:"draws"`
	Mean     num `json:"mean"`
	Standard num `json:"standard"`
	Low      num `json:"low"`
	High     num `json:"high"`
}

type partJSON struct {
	Name     string `json:"name"`
	Standard num    `json:"standard"`
}

type limitJSON struct {
	Min    *num   `json:"min,omitempty"`
	Max    *num   `json:"max,omitempty"`
	Source string `json:"source"`
	Status string `json:"status"`
}

type placeJSON struct {
	Azimuth *num    `json:"azimuth"`
	Sector  *string `json:"sector"`
	Point   vec     `json:"point"`
}

type sampleJSON struct {
	Azimuth num `json:"azimuth"`
	Value   num `json:"value"`
}

type subJSON struct {
	Name    string           `json:"name"`
	Value   num              `json:"value"`
	Spread  *num             `json:"uncertainty,omitempty"` // of a zone's value
	Unit    unit.Unit        `json:"unit"`
	Limit   *limitJSON       `json:"limit"`
	Verdict *reading.Verdict `json:"verdict"`
	At      *placeJSON       `json:"at"`
}

// WriteJSON writes the record as one JSON document and a line end.
func (r *Record) WriteJSON(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	return e.Encode(r.document())
}

func (r *Record) document() document {
	d := document{
		Format: Format, Version: Version,
		Tooth: r.Tooth.ISO(), Numbering: string(tooth.ISO), Material: r.Material,
		Surfaces: make([]surfaceJSON, len(r.Surfaces)), FinishLine: make([]vec, len(r.FinishLine)),
		Settings: settingsJSON{num(r.Settings.CementSpace), num(r.Settings.LeastThickness), num(r.Settings.ScannerUM),
			r.Settings.ScannerStated, r.Settings.ScannerFrom, r.Settings.LimitsFile, r.Settings.Rule},
		Readings: make([]readingJSON, len(r.Readings)), Headline: r.Headline(), Notes: append([]string{}, r.Notes...),
	}
	if r.Numbering == tooth.Universal {
		d.Tooth, d.Numbering = strconv.Itoa(r.Tooth.Universal()), string(tooth.Universal)
	}
	for i, s := range r.Surfaces {
		d.Surfaces[i] = surfaceJSON(s)
	}
	for i, p := range r.FinishLine {
		d.FinishLine[i] = toVec(p)
	}
	for i := range r.Readings {
		d.Readings[i] = toReading(&r.Readings[i])
		if r.Budget != nil {
			d.Readings[i].Budget = toBudget(&r.Readings[i])
		}
	}
	if b := r.Budget; b != nil {
		d.Budget = &drawsJSON{b.Draws, b.Failed, b.Seed, num(1000 * b.NoiseMM), num(1000 * b.ScannerMM)}
	}
	if f := r.Frame; f != nil {
		d.Frame = &frameJSON{toVec(f.Origin), toVec(f.Placement), toVecPtr(f.Mesial), toVecPtr(f.Buccal), toVec(f.Zero), toVec(f.Turn)}
	}
	return d
}

func toReading(r *reading.Reading) readingJSON {
	m, _ := reading.Find(r.ID)
	j := readingJSON{
		ID: r.ID, Name: m.Name, HoldPoint: m.HoldPoint, Unit: m.Unit,
		Limit: toLimit(r.Limit), Verdict: r.Verdict, At: toPlace(r.At),
		Parts: []partJSON{}, Profile: []sampleJSON{}, Subs: []subJSON{},
		Note: r.Note, Reason: r.Reason, Next: r.Next,
	}
	if !r.Measured() {
		return j
	}
	value, u := num(r.Value), num(r.Expanded)
	j.Value, j.Uncertainty = &value, &u
	for _, p := range r.Parts {
		j.Parts = append(j.Parts, partJSON{p.Name, num(p.Standard)})
	}
	for _, s := range r.Profile {
		j.Profile = append(j.Profile, sampleJSON{num(s.Azimuth), num(s.Value)})
	}
	for _, s := range r.Subs {
		j.Subs = append(j.Subs, toSub(s))
	}
	if r.Conformance != nil {
		p := num(*r.Conformance)
		j.Conformance = &p
	}
	return j
}

// toBudget is the budget of a measured reading; nil for others.
func toBudget(r *reading.Reading) *budgetJSON {
	if !r.Measured() {
		return nil
	}
	sum := 0.0
	for _, p := range r.Parts {
		sum += float64(p.Standard * p.Standard)
	}
	b := &budgetJSON{Combined: num(math.Sqrt(sum))}
	if sum > 0 {
		b.Coverage = num(r.Expanded / math.Sqrt(sum))
	}
	if m := r.MonteCarlo; m != nil {
		b.MonteCarlo = &monteCarloJSON{m.Draws, num(m.Mean), num(m.Standard), num(m.Low), num(m.High)}
	}
	return b
}

func toSub(s reading.Sub) subJSON {
	j := subJSON{Name: s.Name, Value: num(s.Value), Unit: s.Unit, Limit: toLimit(s.Limit), At: toPlace(s.At)}
	if s.Expanded > 0 {
		u := num(s.Expanded)
		j.Spread = &u
	}
	if s.Verdict != "" {
		j.Verdict = &s.Verdict
	}
	return j
}

func toLimit(l *reading.Limit) *limitJSON {
	if l == nil {
		return nil
	}
	j := limitJSON{Source: l.Source, Status: l.Status}
	if l.Min != nil {
		x := num(*l.Min)
		j.Min = &x
	}
	if l.Max != nil {
		x := num(*l.Max)
		j.Max = &x
	}
	return &j
}

func toPlace(p *reading.Place) *placeJSON {
	if p == nil {
		return nil
	}
	j := placeJSON{Point: toVec(p.Point)}
	if p.HasAzimuth {
		a, s := num(p.Azimuth), reading.Sector(p.Azimuth)
		j.Azimuth, j.Sector = &a, &s
	}
	return &j
}
