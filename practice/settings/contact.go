package settings

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// Level is how a contact is felt, from the loosest on.
type Level int

// The levels.
const (
	Open Level = iota
	Light
	Right
	Heavy
	levels
)

// Contact is one proximal contact that was tried in.
type Contact struct {
	Tightness float64 // of the design, mm of overlap
	Felt      Level
	Distal    bool
	Upper     bool
	Material  string
	Tool      string // lot of the milling tool; empty where it is not known
	Block     string // lot of the block; empty where it is not known
	Date      time.Time
}

// mostTight bounds the tightness of a design, mm: more is micrometres.
const mostTight = 1.0

func checkContacts(contacts []Contact) error {
	for i, c := range contacts {
		if !(math.Abs(c.Tightness) <= mostTight) || c.Felt < 0 || c.Felt >= levels {
			return fmt.Errorf("contact %d: tightness %g mm, felt %d: a tightness is within 1 mm, a feeling 0 to %d", i+1, c.Tightness, c.Felt, levels-1)
		}
	}
	return nil
}

// names lists what occurs, in order.
func names(contacts []Contact, of func(Contact) string) []string {
	var out []string
	for _, c := range contacts {
		if s := of(c); s != "" {
			out = append(out, s)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}
