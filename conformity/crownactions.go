package conformity

import "crownassay/reading"

const (
	giveCrown  = "give the crown as a closed shell in the frame of the arch"
	giveArch   = "scan the neighbouring teeth with the preparation"
	giveBefore = "scan the tooth before it is prepared"
	giveMade   = "scan the crown as it was made"
	giveSeated = "scan the arch with the crown on, and give the crown as designed or as made"
	redrawEdge = "draw the crown's margin onto the finish line there before milling"
)

// crownActions are the actions for a crown as designed (common practice).
var crownActions = map[reading.ID]action{
	"crown.thickness.occlusal":     {"occlusal thickness of the crown", before, "thicken the design there, reduce there, or choose a material that may be thinner", "", giveCrown},
	"crown.thickness.axial":        {"axial thickness of the crown", before, "thicken the wall there in the design, or reduce there", "", giveCrown},
	"crown.fit.marginal_gap.mean":  {"mean marginal gap", nowhere, "", "", giveCrown},
	"crown.fit.marginal_gap.max":   {"marginal gap", before, "", redrawEdge, giveCrown},
	"crown.fit.discrepancy.max":    {"absolute marginal discrepancy", before, "", redrawEdge, giveCrown},
	"crown.fit.internal.mean":      {"mean internal gap", nowhere, "", "", giveCrown},
	"crown.fit.interference":       {"interference inside the crown", before, "", "give the cavity more cement space there before milling", giveCrown},
	"crown.contour.overhang.max":   {"overhang of the crown", before, "", redrawEdge, giveCrown},
	"crown.contour.overhang.min":   {"reach of the crown margin beyond the finish line", before, redrawEdge, "", giveCrown},
	"crown.contour.emergence.max":  {"emergence angle", before, "", "", giveCrown},
	"crown.contour.bulge.max":      {"bulge of the crown", before, "", "", giveCrown},
	"crown.contour.against_mirror": {"reach beyond the mirrored tooth", before, "", "", "scan the whole arch"},
	"crown.contact.mesial":         {"signed distance to the mesial neighbour", nowhere, "draw the mesial contact lighter before milling", "draw the mesial contact tighter before milling", giveArch},
	"crown.contact.distal":         {"signed distance to the distal neighbour", nowhere, "draw the distal contact lighter before milling", "draw the distal contact tighter before milling", giveArch},
	"crown.contact.occlusal":       {"signed distance to the opposing teeth", worst, "lower the design there before milling", "raise the design until it meets the opposing teeth", "scan the opposing arch and the bite"},
	"crown.ridge.step.mesial":      {"step to the mesial marginal ridge", nowhere, "raise the mesial marginal ridge to its neighbour", "lower the mesial marginal ridge to its neighbour", giveArch},
	"crown.ridge.step.distal":      {"step to the distal marginal ridge", nowhere, "raise the distal marginal ridge to its neighbour", "lower the distal marginal ridge to its neighbour", giveArch},

	"existing.contour.overhang.max":  {"old overhang", before, "", "", giveBefore},
	"existing.contour.emergence.max": {"old emergence angle", before, "", "", giveBefore},
	"existing.contour.bulge.max":     {"old bulge", before, "", "", giveBefore},

	"finished.deviation.rms": {"deviation from the design", nowhere, "", "", giveMade},
	"finished.deviation.p95": {"deviation from the design", nowhere, "", "", giveMade},

	"seated.rise":             {"rise of the seated crown", worst, "", "", giveSeated},
	"seated.tilt":             {"tilt of the seated crown", worst, "", "", giveSeated},
	"seated.contact.mesial":   {"signed distance of the seated crown to the mesial neighbour", nowhere, "take the mesial contact down in small steps and polish, thickness permitting", "add to the mesial contact or make the crown anew", "test the contact with floss or foil"},
	"seated.contact.distal":   {"signed distance of the seated crown to the distal neighbour", nowhere, "take the distal contact down in small steps and polish, thickness permitting", "add to the distal contact or make the crown anew", "test the contact with floss or foil"},
	"seated.contact.occlusal": {"signed distance of the seated crown to the opposing teeth", worst, "take it down there in small steps, thickness permitting, and polish", "accept it or make the crown anew: it does not reach the opposing teeth", "scan the opposing arch and the bite"},
}

// madeRemedies are what can still be done at the try-in, below the lower and
// above the upper limit.
var madeRemedies = map[reading.ID][2]string{
	"crown.thickness.occlusal":   {"do not adjust there; make the crown anew if the material's maker allows no less", ""},
	"crown.thickness.axial":      {"do not adjust there; make the crown anew if the material's maker allows no less", ""},
	"crown.fit.marginal_gap.max": {"", "look for what holds the crown off its seat; make it anew if it stays open"},
	"crown.fit.interference":     {"", "mark the place inside the crown and relieve it, then try again"},
	"crown.contour.overhang.max": {"", "finish the margin there outside the mouth and polish"},
	"crown.contour.overhang.min": {"make the crown anew if the probe catches there", ""},
	"crown.contact.mesial":       {"take the mesial contact down in small steps and polish, thickness permitting", "add to the mesial contact or make the crown anew"},
	"crown.contact.distal":       {"take the distal contact down in small steps and polish, thickness permitting", "add to the distal contact or make the crown anew"},
	"crown.ridge.step.mesial":    {"accept it, or make the crown anew if food packs there", "take the ridge down in small steps, thickness permitting, and polish"},
	"crown.ridge.step.distal":    {"accept it, or make the crown anew if food packs there", "take the ridge down in small steps, thickness permitting, and polish"},
	"crown.contact.occlusal":     {"take it down there in small steps, thickness permitting, and polish", "accept it or make the crown anew: it does not reach the opposing teeth"},
}

// actionOf returns what is said and done about a reading.
func actionOf(id reading.ID) action {
	if a, ok := actions[id]; ok {
		return a
	}
	if a, ok := crownActions[id]; ok {
		return a
	}
	design := reading.AsDesigned(id)
	a, ok := crownActions[design]
	if !ok {
		a = actions[design]
	}
	if r, ok := madeRemedies[design]; ok {
		a.low, a.high = r[0], r[1]
	}
	a.subject += " as made"
	a.get = giveMade
	return a
}
