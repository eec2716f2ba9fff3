package pdf

import (
	"bytes"
	"fmt"
	"testing"
	"time"
)

// TestPlain sets a sheet that goes over a page: in order, nothing lost, the
// same bytes each time.
func TestPlain(t *testing.T) {
	p := Plain{Title: "Check", Made: time.Date(2026, 11, 27, 9, 0, 0, 0, time.UTC), Facts: [][2]string{{"scanner", "room 2"}},
		Tables: []PlainTable{{Head: []string{"dimension", "error"}, Rows: [][]string{{"diameter", "8.6 µm"}, {"angle", "± 0.0102 deg"}}}, {Head: []string{"scan", "points"}}},
		After:  [][2]string{{"note", "scatter of one scan"}}, Says: "no accredited certificate", Paper: Letter}
	want := []string{"Check", "scanner", "room 2", "dimension", "error", "diameter", "8.6 µm", "angle", "± 0.0102 deg"}
	for i := range 90 {
		p.Tables[1].Rows = append(p.Tables[1].Rows, []string{fmt.Sprintf("scan%d.stl", i), fmt.Sprint(9000 + i)})
		want = append(want, fmt.Sprintf("scan%d.stl", i), fmt.Sprint(9000+i))
	}
	var a, b bytes.Buffer
	if err := p.Write(&a); err != nil {
		t.Fatal(err)
	}
	if err := p.Write(&b); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("the same sheet gives other bytes")
	}
	inOrder(t, extracted(t, a.Bytes()), append(want, "scatter of one scan", "no accredited certificate"))
}
