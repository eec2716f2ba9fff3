package record

import (
	"fmt"
	"strings"
)

// Found says in a line what was found at try-in or a recall; empty for an entry
// of another kind.
func (e *Entry) Found() string {
	switch {
	case e.TryIn != nil:
		return strings.TrimSuffix(e.TryIn.Text(), ".")
	case e.Recall != nil:
		return strings.TrimSuffix(e.Recall.Text(), ".")
	}
	return ""
}

// Text says in a line what was found at try-in.
func (e *TryInEntry) Text() string {
	parts := []string{"try-in " + e.Date}
	for _, c := range e.Contacts {
		s := c.Side + " contact " + string(c.Felt)
		if c.Removed != nil {
			s += fmt.Sprintf(" (%.2f mm taken off)", *c.Removed)
		}
		parts = append(parts, s)
	}
	parts = found(parts, "occlusion", string(e.Occlusion))
	if e.Ground != nil {
		parts = append(parts, fmt.Sprintf("%.2f mm ground off the occlusal surface", *e.Ground))
	}
	parts = found(found(parts, "seating", string(e.Seating)), "margin", string(e.Margin))
	if e.Remade {
		parts = append(parts, "to be made again")
	}
	return ended(parts, e.Why)
}

// Text says in a line what was found at a recall.
func (e *RecallEntry) Text() string {
	parts := []string{"recall " + e.Date}
	if e.Bleeding != nil {
		parts = append(parts, map[bool]string{true: "bleeds on probing", false: "no bleeding on probing"}[*e.Bleeding])
	}
	if e.Probing != nil {
		parts = append(parts, fmt.Sprintf("probing depth %g mm", *e.Probing))
	}
	for _, p := range []struct{ name, word string }{{"retention", e.Retention}, {"fracture", e.Fracture}, {"caries", e.Caries}, {"margin", string(e.Margin)}} {
		parts = found(parts, p.name, p.word)
	}
	for _, c := range e.Contacts {
		parts = append(parts, c.Side+" contact "+string(c.Felt))
	}
	if e.End != "" {
		parts = append(parts, "not in use any more: "+e.End)
	}
	return ended(parts, e.Remark)
}

func found(parts []string, name, word string) []string {
	if word == "" {
		return parts
	}
	return append(parts, name+" "+word)
}

func ended(parts []string, remark string) string {
	s := strings.Join(parts, ", ")
	if remark == "" {
		return s
	}
	return s + ": " + remark
}
