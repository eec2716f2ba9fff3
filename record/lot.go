package record

import (
	"strings"
	"time"

	"crownassay/internal/gs1"
)

// Lot makes the entry of a lot number from what was typed or scanned. An
// element string of GS1 is taken apart; anything else is the lot as it stands.
func Lot(thing, text, who string, today time.Time) (Entry, error) {
	l := &LotEntry{Thing: thing, Lot: strings.TrimSpace(text)}
	if gs1.Looks(text) {
		c, err := gs1.Parse(text, today)
		if err != nil {
			return Entry{}, unfit("%v", err)
		}
		*l = LotEntry{Thing: thing, Lot: c.Lot, Product: c.Product, Serial: c.Serial, Expires: c.Expires, Code: text}
	}
	return Entry{Kind: KindLot, Who: who, Lot: l}, nil
}

// Expired reports whether the thing had expired at the time of the entry.
func (e *Entry) Expired() bool {
	return e.Lot != nil && e.Lot.Expires != "" && e.At.UTC().Format(time.DateOnly) > e.Lot.Expires
}
