package gauge

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"
)

// Format names the form of the JSON document.
const Format = "crownassay-gauge/1"

// Settings are what a check is done with beside its files.
type Settings struct {
	Scanner string // which one, in the practice's own words
	Who     string
	Made    time.Time // when; the program's clock, never the files'
	// Progress is told each scan; nil for none.
	Progress func(step string, done, total int)
}

// Result is one check of a scanner.
type Result struct {
	Format  string    `json:"format"`
	Made    time.Time `json:"made"`
	Scanner string    `json:"scanner"`
	Who     string    `json:"who"`

	Body       BodyInfo    `json:"body"`
	Scans      []ScanInfo  `json:"scans"`
	Dimensions []Dimension `json:"dimensions"`

	NoiseUM   float64 `json:"noise_um"`               // standard deviation within patches of 1 mm, after the fit, root mean square over the scans
	FormUM    float64 `json:"form_um"`                // the same between patches
	ScannerUM float64 `json:"scanner_uncertainty_um"` // expanded, of one surface over one tooth: what cases use
	Decided   string  `json:"decided_by"`             // the dimension that it is taken from

	Notes []string `json:"notes"`
}

// BodyInfo is the body as its file describes it.
type BodyInfo struct {
	Name        string `json:"name"`
	Kind        Kind   `json:"kind"`
	Serial      string `json:"serial"`
	Certificate string `json:"certificate"`
	Calibrated  string `json:"calibrated"`
	SHA256      string `json:"sha256"`
}

// ScanInfo is one scan.
type ScanInfo struct {
	File      string  `json:"file"`
	SHA256    string  `json:"sha256"`
	Unit      string  `json:"unit"`
	Triangles int     `json:"triangles"`
	Points    int     `json:"points"`   // that the fits rest on
	RMSUM     float64 `json:"rms_um"`   // of their distances from the fitted shape
	NoiseUM   float64 `json:"noise_um"` // of that, within patches
	FormUM    float64 `json:"form_um"`  // and between them
}

// Dimension is what the repeats say of one calibrated dimension. Numbers are in
// Unit, mm or deg.
type Dimension struct {
	Name        string    `json:"name"`
	Unit        string    `json:"unit"`
	Calibrated  float64   `json:"calibrated"`
	CalibratedU float64   `json:"calibrated_uncertainty"`
	Indications []float64 `json:"indications"`
	Errors      []float64 `json:"errors"`
	Trueness    float64   `json:"trueness"`
	TruenessU   float64   `json:"trueness_uncertainty"`
	Scatter     float64   `json:"repeatability"`
	DOF         int       `json:"degrees_of_freedom"`
	Fit         float64   `json:"fit_standard"`
	Counts      bool      `json:"counts"`      // toward the scanner's uncertainty
	Expanded    float64   `json:"uncertainty"` // of such a dimension scanned once, not corrected
}

// toothReach is the longest dimension, mm, that tells of one tooth: a large
// molar has 11, its roots' side and the neighbours' contacts make it 15, and a step
// or ball of 20 is still scanned as a tooth is. Errors of longer ones come from
// many pictures laid on one another.
const toothReach = 20.0

// leastRepeats is how many scans a check needs.
const leastRepeats = 2

// Check measures the body in the scans.
func Check(ctx context.Context, b *Body, scans []string, set Settings) (*Result, error) {
	if len(scans) < leastRepeats {
		return nil, fmt.Errorf("check %s: %d scan given; scan the body again, five times is good and two the least, since a single scan says nothing of how scans scatter", b.Path, len(scans))
	}
	r := &Result{Format: Format, Made: set.Made.UTC().Truncate(time.Second), Scanner: set.Scanner, Who: set.Who, Notes: []string{},
		Body: BodyInfo{b.Name, b.Kind, b.serial(), b.Certificate, b.Calibrated, b.SHA256}}
	var seen []observed
	for i, path := range scans {
		if set.Progress != nil {
			set.Progress("scan "+path, i, len(scans))
		}
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		s, err := loadScan(ctx, path, b)
		if err != nil {
			return nil, err
		}
		for k, other := range r.Scans {
			if other.SHA256 == s.sha256 {
				return nil, fmt.Errorf("check %s: %s and %s are the same scan; scan the body anew for each repeat", b.Path, scans[k], path)
			}
		}
		o, err := b.observe(ctx, s)
		if err != nil {
			return nil, err
		}
		seen = append(seen, o)
		r.Scans = append(r.Scans, ScanInfo{s.file, s.sha256, s.unit, len(s.m.F), o.points, 1000 * math.Hypot(o.noise, o.form), 1000 * o.noise, 1000 * o.form})
		r.Notes = append(append(r.Notes, s.notes...), o.notes...)
	}
	r.fill(seen)
	return r, r.decide(b)
}

// fill works out the dimensions.
func (r *Result) fill(seen []observed) {
	noise, form := 0.0, 0.0
	for _, o := range seen {
		noise += o.noise * o.noise / float64(len(seen))
		form += o.form * o.form / float64(len(seen))
	}
	r.NoiseUM, r.FormUM = 1000*math.Sqrt(noise), 1000*math.Sqrt(form)
	for k, first := range seen[0].indications {
		var v, f []float64
		for _, o := range seen {
			v, f = append(v, o.indications[k].value), append(f, o.indications[k].standard)
		}
		add := math.Sqrt(form)
		if first.unit != "mm" {
			add = 0 // a form in mm is none of an angle; the fit's own uncertainty has it
		}
		s := repeats(v, f, first.ref, first.refU, add)
		r.Dimensions = append(r.Dimensions, Dimension{first.name, first.unit, first.ref, 2 * first.refU, v, s.Errors, s.Trueness, s.TruenessU,
			s.Scatter, s.DOF, s.Fit, first.unit == "mm" && first.length <= toothReach, s.Expanded})
	}
}

// decide takes the scanner's uncertainty from the worst dimension that tells
// of one tooth.
func (r *Result) decide(b *Body) error {
	worst := -1
	for i, d := range r.Dimensions {
		if d.Counts && (worst < 0 || d.Expanded > r.Dimensions[worst].Expanded) {
			worst = i
		}
	}
	if worst < 0 { // all are longer: they say at most more
		for i := range r.Dimensions {
			if d := &r.Dimensions[i]; d.Unit == "mm" && (worst < 0 || d.Expanded < r.Dimensions[worst].Expanded) {
				worst = i
			}
		}
		r.Dimensions[worst].Counts = true
		r.Notes = append(r.Notes, fmt.Sprintf("every calibrated dimension is longer than %.0f mm; the best of them stands for one tooth, which has less", toothReach))
	}
	d := r.Dimensions[worst]
	r.ScannerUM, r.Decided = 1000*d.Expanded, d.Name
	if r.ScannerUM > mostUM {
		return fmt.Errorf("check %s: the %s is known to %.0f um only, which is no scan of this body that can be used (error %.0f um, repeatability %.0f um); look at the scans, and scan it again",
			b.Path, d.Name, r.ScannerUM, 1000*d.Trueness, 1000*d.Scatter)
	}
	if d.DOF < 4 {
		r.Notes = append(r.Notes, fmt.Sprintf("%d repeats: the scatter is multiplied by %.1f for so few; five repeats need %.1f", d.DOF+1, student(float64(d.DOF)), student(4)))
	}
	slices.Sort(r.Notes)
	r.Notes = slices.Compact(r.Notes)
	return nil
}

// mostUM is the largest uncertainty that a case may state, um.
const mostUM = 500.0

// Current is the check whose uncertainty cases use: of each scanner the newest
// one counts, and of several scanners the least certain, since a case does not
// say which of them it was scanned with. Nil when there is none.
func Current(all []*Result) *Result {
	newest := map[string]*Result{}
	for _, r := range all {
		if n := newest[r.Scanner]; n == nil || !r.Made.Before(n.Made) {
			newest[r.Scanner] = r
		}
	}
	var out *Result
	for _, r := range all {
		if newest[r.Scanner] == r && (out == nil || r.ScannerUM > out.ScannerUM) {
			out = r
		}
	}
	return out
}

// OnRecord is Current of the documents of checks, in the order they were made.
func OnRecord(documents [][]byte) (*Result, error) {
	var all []*Result
	for _, d := range documents {
		r, err := Read(d)
		if err != nil {
			return nil, err
		}
		all = append(all, r)
	}
	return Current(all), nil
}

// Source says in words where the scanner's uncertainty comes from.
func (r *Result) Source() string {
	s := "scanner check of " + r.Made.Format("2006-01-02")
	if r.Scanner != "" {
		s += ", " + r.Scanner
	}
	return s + ", on " + r.Body.String()
}

// String names the body.
func (b BodyInfo) String() string {
	if b.Serial == "" {
		return b.Name
	}
	return b.Name + " " + b.Serial
}
