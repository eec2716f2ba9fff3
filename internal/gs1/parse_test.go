package gs1

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

var today = time.Date(2026, 11, 27, 0, 0, 0, 0, time.UTC)

// The product number 09506000134352 is the one that the GS1 General
// Specifications use in their examples; 0 95060 00134 35 has check digit 2 by
// the rule of section 7.9.1, worked by hand:
// 3*(0+5+6+0+1+4+5) + (9+0+0+0+3+3) = 63 + 15 = 78, and 2 more make 80.
func TestParse(t *testing.T) {
	whole := Code{Product: "09506000134352", Lot: "ABC123", Serial: "S-1", Expires: "2027-02-28"}
	for name, c := range map[string]struct {
		in   string
		want Code
	}{
		"printed":              {"(01)09506000134352(17)270228(10)ABC123(21)S-1", whole},
		"scanned":              {"0109506000134352172702281" + "0ABC123\x1d21S-1", whole},
		"with its symbology":   {"]d2010950600013435217270228" + "10ABC123\x1d21S-1\x1d", whole},
		"no day":               {"(17)270200(10)ABC123(01)09506000134352(21)S-1", whole},
		"leap year":            {"(17)280200", Code{Expires: "2028-02-29"}},
		"a bracket in a lot":   {"(10)A(B)C(21)7", Code{Lot: "A(B)C", Serial: "7"}},
		"others":               {"(240)X1(10)L", Code{Lot: "L", Other: map[string]string{"240": "X1"}}},
		"century of the dates": {"(17)770101", Code{Expires: "1977-01-01"}}, // 51 years ahead
		"the next century":     {"(17)760101", Code{Expires: "2076-01-01"}}, // 50 years ahead
	} {
		got, err := Parse(c.in, today)
		if d := cmp.Diff(c.want, got); err != nil || d != "" {
			t.Errorf("%s: %v\n%s", name, err, d)
		}
	}
}

func TestRefuses(t *testing.T) {
	for in, want := range map[string]string{
		"":                           "it is empty",
		"(01)09506000134353":         "character 1: (01)09506000134353: the check digit is wrong",
		"(01)0950600013435":          "13 characters, want 14",
		"(10)":                       "0 characters, want 1 to 20",
		"(17)271301":                 "month 13 does not exist",
		"(17)270230":                 "day 30 of month 2 does not exist",
		"(10)A(21)" + tooLong:        "21 characters, want 1 to 20",
		"(10)A\u00e4":                "does not belong there",
		"(10)A\x1d":                  "does not belong there",
		"(85)1":                      "no application identifier that is known here",
		"\x1d10A\x1d8\x1d":           "character 6",
		"(10)A(10)B":                 "twice and differently",
		"0109506000134352" + "17x":   "1 characters, want 6",
		"01095060001343521727022810": "0 characters, want 1 to 20",
	} {
		if _, err := Parse(in, today); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Parse(%q) = %v, want an error with %q", in, err, want)
		}
	}
}

const tooLong = "123456789012345678901"

func TestLooks(t *testing.T) {
	for in, want := range map[string]bool{
		"LOT 77": false, "0109": false, "(10)A": true, "]d2010": true, "0109506000134352" + "10A": true, "0109506000134353" + "10A": false, "10A\x1d21B": true,
	} {
		if got := Looks(in); got != want {
			t.Errorf("Looks(%q) = %t, want %t", in, got, want)
		}
	}
}

// FuzzParse: what is read can be written as it is printed and read again.
func FuzzParse(f *testing.F) {
	f.Add("(01)09506000134352(17)270228(10)ABC123(21)S-1")
	f.Add("]d201095060001343521727022810ABC123\x1d21S-1")
	f.Fuzz(func(t *testing.T, s string) {
		c, err := Parse(s, today)
		if err != nil || strings.ContainsAny(c.Lot+c.Serial, "()") {
			return
		}
		printed := ""
		for id, v := range map[string]string{"01": c.Product, "10": c.Lot, "21": c.Serial} {
			if v != "" {
				printed += "(" + id + ")" + v
			}
		}
		if printed == "" {
			return
		}
		again, err := Parse(printed, today)
		if err != nil || again.Product != c.Product || again.Lot != c.Lot || again.Serial != c.Serial {
			t.Errorf("%q read as %+v, printed as %q, read again as %+v, %v", s, c, printed, again, err)
		}
	})
}
