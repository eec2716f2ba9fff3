package practice

import (
	"slices"

	"crownassay/practice/settings"
	"crownassay/record"
)

// Scale is what a contact's tightness is taken from.
type Scale string

// The scales.
const (
	Designed Scale = "designed" // as measured on the design
	Set      Scale = "setting"  // as the design program was given it
)

// Contacts lists the contacts of crowns whose tightness is known on the scale,
// and counts those that were felt but whose tightness is not.
func Contacts(crowns []Crown, s Scale) (out []settings.Contact, unknown int) {
	for i := range crowns {
		c := &crowns[i]
		for _, f := range c.TryIn.Contacts {
			x, known := tightness(&f, s)
			if !known {
				unknown++
				continue
			}
			out = append(out, settings.Contact{Tightness: x, Felt: settings.Level(slices.Index(record.Felts, f.Felt)), Distal: f.Side == "distal",
				Upper: c.Tooth.Upper(), Material: c.Material, Tool: c.Lots["tool"], Block: c.Lots["block"], Date: c.Date})
		}
	}
	return out, unknown
}

// tightness is the overlap of a contact, mm.
func tightness(f *record.ContactFound, s Scale) (mm float64, known bool) {
	if s == Set {
		if f.Setting == nil {
			return 0, false
		}
		return *f.Setting, true
	}
	if f.Designed == nil {
		return 0, false
	}
	return -*f.Designed, true
}
