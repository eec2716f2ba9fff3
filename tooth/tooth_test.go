package tooth

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"crownassay/geom"
)

// The rows of a two-system chart of the permanent teeth as it is printed:
// patient's right to left, upper row then lower (ISO 3950:2016, and the chart
// of the Universal system; read).
const chart = `
 18 17 16 15 14 13 12 11 21 22 23 24 25 26 27 28
  1  2  3  4  5  6  7  8  9 10 11 12 13 14 15 16
 48 47 46 45 44 43 42 41 31 32 33 34 35 36 37 38
 32 31 30 29 28 27 26 25 24 23 22 21 20 19 18 17`

func TestChart(t *testing.T) {
	rows := strings.Split(strings.TrimSpace(chart), "\n")
	for r := 0; r < 4; r += 2 {
		iso, uni := strings.Fields(rows[r]), strings.Fields(rows[r+1])
		for i := range iso {
			a, err := Parse(iso[i], ISO)
			if err != nil {
				t.Fatalf("Parse(%q, ISO) = %v", iso[i], err)
			}
			b, err := Parse(uni[i], Universal)
			if err != nil || a != b {
				t.Errorf("Parse(%q, Universal) = %v, %v, want %v", uni[i], b, err, a)
			}
			if got := fmt.Sprint(a.Universal()); got != uni[i] {
				t.Errorf("%v.Universal() = %s, want %s", a, got, uni[i])
			}
			if got := b.ISO(); got != iso[i] {
				t.Errorf("%v.ISO() = %s, want %s", b, got, iso[i])
			}
		}
	}
}

// Numbers valid in both systems must follow the stated system alone.
func TestSystemIsNeverInferred(t *testing.T) {
	for _, n := range []string{"11", "18", "21", "28", "31", "32"} {
		a, err1 := Parse(n, ISO)
		b, err2 := Parse(n, Universal)
		if err1 != nil || err2 != nil || a == b {
			t.Errorf("tooth %s: ISO %v (%v), Universal %v (%v), want two different teeth", n, a, err1, b, err2)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct {
		s, want string
		n       Numbering
	}{
		{"19", "numbering: universal", ISO},
		{"50", "permanent tooth", ISO},
		{"-11", "permanent tooth", ISO},
		{"0", "1 to 32", Universal},
		{"33", "1 to 32", Universal},
		{"UL6", "not a number", ISO},
		{"", "not a number", ISO},
		{"11", "iso3950 or universal", "zsigmondy"},
	} {
		if got, err := Parse(c.s, c.n); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("Parse(%q, %q) = %v, %v, want an error with %q", c.s, c.n, got, err, c.want)
		}
	}
}

// Names and classes as every textbook of dental anatomy prints them.
func TestNameAndClass(t *testing.T) {
	for _, c := range []struct {
		iso, name string
		class     Class
	}{
		{"11", "upper right central incisor", Incisor},
		{"22", "upper left lateral incisor", Incisor},
		{"33", "lower left canine", Canine},
		{"45", "lower right second premolar", Premolar},
		{"46", "lower right first molar", Molar},
		{"28", "upper left third molar", Molar},
	} {
		a, err := Parse(c.iso, ISO)
		if err != nil || a.Name() != c.name || a.Class() != c.class {
			t.Errorf("tooth %s = %q, %s, %v, want %q, %s", c.iso, a.Name(), a.Class(), err, c.name, c.class)
		}
	}
}

func TestBuccalHasTheHandedness(t *testing.T) {
	o, m := geom.V(1, 2, 2).Unit(), geom.V(2, 1, -2).Unit() // square to one another
	for q := 1; q <= 4; q++ {
		a := Tooth{q, 6}
		b := a.Buccal(o, m)
		if got := m.Cross(b).Dot(o); math.Abs(got-a.Handedness()) > 1e-12 {
			t.Errorf("quadrant %d: (m x b).o = %g, want %g", q, got, a.Handedness())
		}
	}
}

func TestSectorWord(t *testing.T) {
	for _, c := range []struct{ iso, sector, want string }{
		{"46", "DL", "distolingual"},
		{"46", "MB", "mesiobuccal"},
		{"16", "ML", "mesiopalatal"},
		{"16", "L", "palatal"},
		{"11", "DB", "distofacial"},
		{"41", "L", "lingual"},
		{"41", "B", "facial"},
		{"36", "M", "mesial"},
		{"36", "", ""},
	} {
		a, _ := Parse(c.iso, ISO)
		if got := a.SectorWord(c.sector); got != c.want {
			t.Errorf("tooth %s sector %s = %q, want %q", c.iso, c.sector, got, c.want)
		}
	}
}

// The largest upper and lower crowns, spot-checked against the table of
// Wheeler's (upper central incisor read, lower first molar from memory).
func TestSize(t *testing.T) {
	u1, _ := Tooth{1, 1}.Size()
	if u1.Length != 10.5 || u1.Mesiodistal != 8.5 || u1.Buccolingual != 7 || u1.Status != "read" {
		t.Errorf("upper central incisor = %+v", u1)
	}
	l6, _ := Tooth{4, 6}.Size()
	if l6.Length != 7.5 || l6.Mesiodistal != 11 || l6.Buccolingual != 10.5 || l6.Status != "memory" {
		t.Errorf("lower first molar = %+v", l6)
	}
	if s, ok := (Tooth{2, 8}).Size(); ok {
		t.Errorf("third molar = %+v, want no mean size", s)
	}
}
