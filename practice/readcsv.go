package practice

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"sync"

	"crownassay/conformity"
	"crownassay/luting"
	"crownassay/record"
	"crownassay/tooth"
)

// Row is a line of a table of earlier crowns: a try-in or a recall.
type Row struct {
	Line                                int
	Patient, Tooth, Numbering, Material string
	Block, Tool, Cement, Luting         string
	TryIn                               *record.TryInEntry  // one of the two
	Recall                              *record.RecallEntry //
}

// Columns are those that a table may have. Those of the first line are needed.
var Columns = []string{
	"event", "date", "patient", "tooth",
	"numbering", "material", "dentist", "block", "tool", "cement", "luting", "said",
	"mesial", "mesial_removed_mm", "mesial_designed_mm", "mesial_setting_mm",
	"distal", "distal_removed_mm", "distal_designed_mm", "distal_setting_mm",
	"occlusion", "ground_mm", "seating", "margin", "remade", "why",
	"bleeding", "probing_mm", "retention", "fracture", "caries", "end", "remark",
}

// needed is how many of Columns a table must have.
const needed = 4

// ReadCSV reads a table of earlier crowns: a line of column names, then a line
// an event. The error names the file, the line and the column.
func ReadCSV(name string, r io.Reader) ([]Row, error) {
	c := csv.NewReader(r)
	head, err := c.Read()
	if errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("read %s: it is empty; give a line of column names first: %s", name, strings.Join(Columns[:needed], ", "))
	}
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", name, err)
	}
	at, err := columns(head)
	if err != nil {
		return nil, fmt.Errorf("read %s, line 1: %w", name, err)
	}
	var out []Row
	for {
		cells, err := c.Read()
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return nil, fmt.Errorf("read %s: %w", name, err)
		}
		line, _ := c.FieldPos(0)
		l := cellReader{at: at, cells: cells}
		row := l.row()
		row.Line = line
		if l.err != nil {
			return nil, fmt.Errorf("read %s, line %d: %w", name, line, l.err)
		}
		out = append(out, row)
	}
}

// columns finds where each column stands.
func columns(head []string) (map[string]int, error) {
	at := map[string]int{}
	for i, h := range head {
		h = strings.ToLower(strings.TrimSpace(strings.TrimPrefix(h, "\ufeff")))
		if !slices.Contains(Columns, h) {
			return nil, fmt.Errorf("unknown column %q; the columns are %s", h, strings.Join(Columns, ", "))
		}
		if _, twice := at[h]; twice {
			return nil, fmt.Errorf("the column %q stands there twice", h)
		}
		at[h] = i
	}
	for _, h := range Columns[:needed] {
		if _, ok := at[h]; !ok {
			return nil, fmt.Errorf("there is no column %q", h)
		}
	}
	return at, nil
}

// cellReader reads the cells of a line; the first error stays.
type cellReader struct {
	at    map[string]int
	cells []string
	err   error
}

func (l *cellReader) text(column string) string {
	if i, ok := l.at[column]; ok {
		return strings.TrimSpace(l.cells[i])
	}
	return ""
}

func (l *cellReader) fail(column string, err error) {
	if l.err == nil {
		l.err = fmt.Errorf("column %s: %w", column, err)
	}
}

// number reads a number; an empty cell is nil.
func (l *cellReader) number(column string) *float64 {
	s := l.text(column)
	if s == "" {
		return nil
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		l.fail(column, fmt.Errorf("%q is no number", s))
		return nil
	}
	return &v
}

// truth reads yes or no; an empty cell is nil.
func (l *cellReader) truth(column string) *bool {
	switch s := strings.ToLower(l.text(column)); s {
	case "":
		return nil
	case "yes", "no":
		yes := s == "yes"
		return &yes
	default:
		l.fail(column, fmt.Errorf("%q is neither yes nor no", s))
		return nil
	}
}

// row reads a line.
func (l *cellReader) row() Row {
	r := Row{Patient: l.text("patient"), Tooth: l.text("tooth"), Numbering: l.text("numbering"), Material: l.text("material"),
		Block: l.text("block"), Tool: l.text("tool"), Cement: l.text("cement"), Luting: l.text("luting")}
	if r.Numbering == "" {
		r.Numbering = string(tooth.ISO)
	}
	if _, err := tooth.Parse(r.Tooth, tooth.Numbering(r.Numbering)); err != nil {
		l.fail("tooth", err)
	}
	l.oneOf("material", r.Material, known().materials)
	l.oneOf("luting", r.Luting, known().families)
	if r.Patient == "" {
		l.fail("patient", errors.New("it is empty; give the practice's own code, never a name"))
	}
	var err error
	switch kind := record.EntryKind(l.text("event")); kind {
	case record.KindTryIn:
		r.TryIn = l.tryIn()
		err = r.TryIn.Check()
	case record.KindRecall:
		r.Recall = l.recall()
		err = r.Recall.Check()
	default:
		l.fail("event", fmt.Errorf("%q is neither try-in nor recall", kind))
	}
	if l.err == nil {
		l.err = err
	}
	return r
}

// known are the names that a table may use.
var known = sync.OnceValue(func() (k struct{ materials, families []string }) {
	for _, m := range conformity.BuiltIn().Materials {
		k.materials = append(k.materials, m.Name)
	}
	for _, f := range luting.BuiltIn().Families {
		k.families = append(k.families, f.Name)
	}
	return k
})

// oneOf refuses a name that is none of those that are known.
func (l *cellReader) oneOf(column, name string, of []string) {
	if name != "" && !slices.Contains(of, name) {
		l.fail(column, fmt.Errorf("%q is not known; it is one of %s", name, strings.Join(of, ", ")))
	}
}

func (l *cellReader) tryIn() *record.TryInEntry {
	t := &record.TryInEntry{Date: l.text("date"), Dentist: l.text("dentist"), Contacts: []record.ContactFound{},
		Occlusion: record.Occlusion(l.text("occlusion")), Ground: l.number("ground_mm"), Seating: record.Seating(l.text("seating")),
		Margin: record.Margin(l.text("margin")), Why: l.text("why"), Said: record.Said(l.text("said"))}
	if remade := l.truth("remade"); remade != nil {
		t.Remade = *remade
	}
	for _, side := range []string{"mesial", "distal"} {
		if felt := l.text(side); felt != "" {
			t.Contacts = append(t.Contacts, record.ContactFound{Side: side, Felt: record.Felt(felt), Removed: l.number(side + "_removed_mm"),
				Designed: l.number(side + "_designed_mm"), Setting: l.number(side + "_setting_mm")})
		}
	}
	return t
}

func (l *cellReader) recall() *record.RecallEntry {
	r := &record.RecallEntry{Date: l.text("date"), Dentist: l.text("dentist"), Bleeding: l.truth("bleeding"), Probing: l.number("probing_mm"),
		Retention: l.text("retention"), Fracture: l.text("fracture"), Caries: l.text("caries"), Margin: record.Margin(l.text("margin")),
		Contacts: []record.ContactNow{}, End: l.text("end"), Remark: l.text("remark")}
	for _, side := range []string{"mesial", "distal"} {
		if felt := l.text(side); felt != "" {
			r.Contacts = append(r.Contacts, record.ContactNow{Side: side, Felt: record.Felt(felt)})
		}
	}
	return r
}
