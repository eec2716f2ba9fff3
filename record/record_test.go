package record

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"crownassay/conformity"
	"crownassay/geom"
	"crownassay/internal/golden"
	"crownassay/reading"
	"crownassay/tooth"
	"crownassay/unit"
)

func place(azimuth float64, x, y, z float64) *reading.Place {
	return &reading.Place{Azimuth: azimuth, HasAzimuth: true, Point: geom.V(x, y, z)}
}

// sample is an invented run: hand-made readings, judged by the built-in limits.
func sample(t *testing.T) *Record {
	t.Helper()
	const unbuilt = "this version does not measure it yet"
	own := 6.1
	readings := []reading.Reading{
		{ID: "scan.holes", Value: 0},
		{ID: "scan.spacing", Value: 0.0912},
		{ID: "scan.noise", Value: 0.0061, Parts: []reading.Part{{Name: "sampling", Standard: 0.0004}}},
		{ID: "scan.bite.contacts", Value: 4, Note: "2 in front of the preparation, 2 behind it."},
		{ID: "finish_line.legible", Value: 91.4, At: place(271, -3, -4.2, 0.1), Note: "The longest illegible arc is 1.9 mm."},
		{ID: "finish_line.width.min", Value: 0.52, At: place(200, -4, -1, 0.2), Profile: []reading.Sample{{Azimuth: 0, Value: 0.7}, {Azimuth: 1, Value: math.NaN()}}},
		{ID: "preparation.convergence.mean", Value: 12.34, ScannerSensitivity: 20},
		{ID: "preparation.height.min", Value: 4.61, At: place(44, 3, 3, 4.5)},
		{ID: "preparation.undercut.depth", Value: -0.0000000001},
		{ID: "preparation.resistance.limit", Value: 13.2, OwnLimit: &reading.Limit{Min: &own, Source: "mean taper of the same two walls", Status: "computed"}},
		{ID: "preparation.retention.area", Value: 96.21},
		{ID: "preparation.clearance.occlusal", Value: 0.62, At: place(212, -2.5, -1.5, 4.9),
			Parts: []reading.Part{{Name: "sampling", Standard: 0.01}},
			Subs: []reading.Sub{
				{Name: reading.FunctionalCusps, Value: 1.31, Unit: unit.Millimetre, At: place(100, 0, 3, 5)},
				{Name: reading.OtherCusps, Value: 0.62, Unit: unit.Millimetre, At: place(212, -2.5, -1.5, 4.9)},
				{Name: reading.Fossa, Value: 1.05, Unit: unit.Millimetre, At: place(10, 0.4, 0.2, 4.1)},
			}},
		{ID: "preparation.room", Value: 0.06, At: place(212, -2.5, -1.5, 4.9)},
		{ID: "preparation.reduction.occlusal", Reason: "the case has no surface from before the preparation"},
		{ID: "preparation.ferrule", Reason: unbuilt},
		{ID: "finish_line.depth", Reason: unbuilt},
	}
	four := tooth.Tooth{Quadrant: 4, Position: 6}
	judged, err := conformity.Judge(readings, conformity.BuiltIn(), conformity.Setting{Tooth: four, Material: "zirconia-3y", ScannerUM: 20})
	if err != nil {
		t.Fatal(err)
	}
	mesial, buccal := geom.V(1, 0, 0), geom.V(0, 1, 0)
	return &Record{
		Tooth: four, Numbering: tooth.ISO, Material: "zirconia-3y",
		Surfaces:   []Surface{{"prepared", "prepared.stl", strings.Repeat("0a", 32), 288000, "mm"}},
		Frame:      &Frame{Placement: geom.V(0, 0, 1), Mesial: &mesial, Buccal: &buccal, Zero: mesial, Turn: buccal},
		FinishLine: []geom.Vec{{X: 5}, {Y: 5}, {X: -5.0000004999, Y: math.Copysign(0, -1)}},
		Readings:   judged,
		Settings:   Settings{CementSpace: 0.06, LeastThickness: 0.5, ScannerUM: 20, ScannerStated: true},
		Notes:      []string{"The opposing surface ends 1.2 mm inside the buccal border of the preparation."},
	}
}

func ledger(t *testing.T, r *Record, look Look) string {
	t.Helper()
	var b bytes.Buffer
	if err := r.Ledger(&b, look); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestLedgerGolden(t *testing.T) {
	golden.Equal(t, "ledger.txt", string([]byte(ledger(t, sample(t), Look{}))))
}

// A ledger must fit the terminal and say the same without colour.
func TestLedgerFitsAndNeedsNoColour(t *testing.T) {
	r := sample(t)
	for _, width := range []int{76, 80, 120} {
		plain := ledger(t, r, Look{Width: width})
		for i, row := range strings.Split(plain, "\n") {
			if n := utf8.RuneCountInString(row); n > width {
				t.Errorf("width %d: line %d has %d columns: %s", width, i+1, n, row)
			}
		}
		coloured := ledger(t, r, Look{Width: width, Color: true})
		if coloured == plain {
			t.Errorf("width %d: colour makes no difference", width)
		}
		trim := regexp.MustCompile(` +\n`)
		stripped := trim.ReplaceAllString(regexp.MustCompile("\x1b\\[[0-9;]*m").ReplaceAllString(coloured, ""), "\n")
		if d := cmp.Diff(plain, stripped); d != "" {
			t.Errorf("width %d: words change with colour:\n%s", width, d)
		}
	}
}

// Every name of the table fits its column in a ledger of 80 columns.
func TestNamesFit(t *testing.T) {
	for _, m := range reading.Measurands {
		if n := len(m.Name); n > 80-verdictColumn-valueColumn-limitColumn-sectorColumn-1 {
			t.Errorf("%s: name %q has %d characters", m.ID, m.Name, n)
		}
	}
}

func TestJSONGoldenAndSchema(t *testing.T) {
	unknown := sample(t)
	unknown.Frame.Mesial, unknown.Frame.Buccal = nil, nil
	unknown.Numbering = tooth.Universal
	for i := range unknown.Readings {
		if p := unknown.Readings[i].At; p != nil {
			p.HasAzimuth = false
		}
	}
	bare := &Record{Tooth: tooth.Tooth{Quadrant: 1, Position: 1}, Material: "leucite"}
	c := jsonschema.NewCompiler()
	schema := c.MustCompile("record.schema.json")
	for name, r := range map[string]*Record{"known": sample(t), "unknown": unknown, "bare": bare} {
		var b bytes.Buffer
		if err := r.WriteJSON(&b); err != nil {
			t.Fatal(err)
		}
		v, err := jsonschema.UnmarshalJSON(bytes.NewReader(b.Bytes()))
		if err != nil {
			t.Fatal(err)
		}
		if err := schema.Validate(v); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		var again bytes.Buffer
		if err := r.WriteJSON(&again); err != nil || !bytes.Equal(b.Bytes(), again.Bytes()) {
			t.Errorf("%s: written twice, it differs (%v)", name, err)
		}
		var pretty bytes.Buffer
		if err := json.Indent(&pretty, b.Bytes(), "", "  "); err != nil {
			t.Fatal(err)
		}
		golden.Equal(t, name+".json", pretty.String())
	}
}

func TestNumbers(t *testing.T) {
	for _, c := range []struct {
		in   float64
		want string
	}{{1.28, "1.28"}, {0, "0"}, {math.Copysign(0, -1), "0"}, {-1e-9, "0"}, {1e-7, "0"}, {0.1234567, "0.123457"},
		{-5.4, "-5.4"}, {1e21, "1000000000000000000000"}, {math.NaN(), "null"}, {math.Inf(-1), "null"}} {
		if b, err := json.Marshal(num(c.in)); err != nil || string(b) != c.want {
			t.Errorf("num(%g) = %s, %v, want %s", c.in, b, err, c.want)
		}
	}
}

func TestExitStatusAndHeadline(t *testing.T) {
	r := sample(t)
	if got := r.ExitStatus(); got != 1 {
		t.Errorf("something fails: status %d, want 1", got)
	}
	if got := r.Headline(); !strings.HasPrefix(got, "Distolingual occlusal clearance is 0.62 mm, 0.38 short of 1.00") {
		t.Errorf("headline = %s", got)
	}
	r.Readings = []reading.Reading{{ID: "scan.holes", Verdict: reading.Conforms}, {ID: "preparation.ferrule", Reason: "x", Verdict: reading.Unmeasured}}
	if got := r.ExitStatus(); got != 0 {
		t.Errorf("nothing fails: status %d, want 0", got)
	}
	if got := r.Headline(); got != "Nothing fails. Not measured: ferrule." {
		t.Errorf("headline = %s", got)
	}
	if got := (&Record{Readings: r.Readings[:1]}).Headline(); got != "Every reading that has a limit conforms." {
		t.Errorf("headline = %s", got)
	}
	r.Readings = r.Readings[1:]
	if got := r.ExitStatus(); got != 2 {
		t.Errorf("nothing measured: status %d, want 2", got)
	}
}

func TestWriteReplacesWhole(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a", "b")
	r := sample(t)
	for range 2 {
		if err := r.Write(dir); err != nil {
			t.Fatal(err)
		}
	}
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != 2 || entries[0].Name() != LedgerFile || entries[1].Name() != JSONFile {
		t.Errorf("folder holds %v, %v", entries, err)
	}
	text, err := os.ReadFile(filepath.Join(dir, LedgerFile))
	if err != nil || string(text) != ledger(t, r, Look{}) {
		t.Errorf("ledger on disk differs (%v)", err)
	}
	if err := r.Write(filepath.Join(dir, JSONFile)); err == nil {
		t.Error("writing into a file as if it were a folder: no error")
	}
}
