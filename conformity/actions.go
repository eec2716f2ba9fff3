package conformity

import "crownassay/reading"

// where says how a place is worked into a sentence.
type where int

const (
	nowhere where = iota
	before        // "Distolingual occlusal clearance is ..."
	worst         // "... (worst: distolingual)"
)

// action is what is said and done about a reading.
type action struct {
	subject string // what the value is, in a sentence
	where   where
	low     string // what to do below the lower limit
	high    string // what to do above the upper limit
	get     string // how to get the reading when it is missing
}

const (
	scanAgain = "scan the preparation again"
	parallel  = "make these walls more parallel where the tooth allows it, else plan on grooves or on bonding"
	openUp    = "open the walls slightly and check that nothing is undercut"
)

// actions in a dentist's words (common practice).
var actions = map[reading.ID]action{
	"scan.holes":         {"number of holes in the scan", worst, "", "dry the tooth and scan the gap again", scanAgain},
	"scan.spacing":       {"spacing of scan points", nowhere, "", "", scanAgain},
	"scan.noise":         {"scan noise", nowhere, "", "dry the tooth and scan again", scanAgain},
	"scan.bite.overlap":  {"overlap of the bite", nowhere, "", "scan the bite again before trusting a clearance", "scan the opposing arch and the bite"},
	"scan.bite.contacts": {"number of contacts of the other teeth in the bite", nowhere, "scan the bite again with the teeth closed", "", "scan the opposing arch and the bite"},

	"finish_line.length":           {"length of the finish line", nowhere, "", "", "show the whole finish line and scan again"},
	"finish_line.legible":          {"legible share of the finish line", worst, "retract, dry and scan the finish line again", "", "show the whole finish line and scan again"},
	"finish_line.width.min":        {"finish line width", before, "deepen the finish line there, then scan again", "", "show the whole finish line and scan again"},
	"finish_line.width.mean":       {"mean finish line width", nowhere, "deepen the finish line, then scan again", "", "show the whole finish line and scan again"},
	"finish_line.roughness":        {"finish line roughness", nowhere, "", "smooth the finish line with a fine instrument, then scan again", "show the whole finish line and scan again"},
	"finish_line.neighbour.mesial": {"space from the finish line to the mesial neighbour", nowhere, "open the space without touching the neighbour, then scan again", "", "scan the mesial neighbour too, if there is one"},
	"finish_line.neighbour.distal": {"space from the finish line to the distal neighbour", nowhere, "open the space without touching the neighbour, then scan again", "", "scan the distal neighbour too, if there is one"},
	"finish_line.depth":            {"depth of the finish line in the sulcus", before, "", "", "probe it in the mouth"},

	"preparation.convergence.mesiodistal":  {"mesiodistal convergence", nowhere, openUp, parallel, scanAgain},
	"preparation.convergence.buccolingual": {"buccolingual convergence", nowhere, openUp, parallel, scanAgain},
	"preparation.convergence.mean":         {"mean convergence", nowhere, openUp, parallel, scanAgain},
	"preparation.height.min":               {"wall height", before, "lengthen the wall there if the tissue allows it, else plan on grooves or on bonding", "", scanAgain},
	"preparation.height_to_base":           {"height to base", nowhere, "lengthen the walls if the tissue allows it, else plan on grooves or on bonding", "", scanAgain},
	"preparation.undercut.depth":           {"undercut", before, "", "remove it or block it out there, then scan again", scanAgain},
	"preparation.undercut.area":            {"undercut area", nowhere, "", "remove the undercut or block it out, then scan again", scanAgain},
	"preparation.placement.window":         {"play of the path of placement", worst, "remove the undercut that closes the path, then scan again", "", scanAgain},
	"preparation.resistance.share":         {"share of wall that resists tipping", worst, "make the walls longer or more parallel, or add grooves", "", scanAgain},
	"preparation.resistance.limit":         {"limiting taper for resistance", before, "make the walls there longer or more parallel, or add grooves", "", scanAgain},
	"preparation.retention.area":           {"area of the axial walls", nowhere, "lengthen the walls or plan on bonding", "", scanAgain},
	"preparation.line_angle.radius":        {"line angle radius", before, "round the edge there, then scan again", "", scanAgain},
	"preparation.clearance.occlusal":       {"occlusal clearance", before, "reduce there, then scan again", "", "scan the opposing arch and the bite"},
	"preparation.reduction.occlusal":       {"occlusal reduction", before, "check the clearance there, and reduce if it is short too", "", "scan the tooth before it is prepared, next time"},
	"preparation.reduction.axial":          {"axial reduction", before, "reduce the wall there, unless the old restoration was too thin there", "", "scan the tooth before it is prepared, next time"},
	"preparation.room":                     {"room for the material", before, "reduce there, or choose a material that may be thinner", "", "scan the opposing arch and the bite"},
	"preparation.ferrule":                  {"ferrule", before, "lengthen the sound wall there or think again about the crown", "", "judge it in the mouth"},

	"crown.strength.radial":   {"load that cracks the crown from inside", before, "make the crown thicker there, reduce the tooth there, or choose a stronger material", "", "give the whole crown and a material whose strength is known"},
	"crown.tool.left":         {"material the tool leaves inside the crown", before, "", "mill with a finer tool, or have the cavity widened there over the edge of the preparation", "give the crown with its inner surface"},
	"crown.blank":             {"length to spare in the block", nowhere, "take a larger block, or turn the crown in it as the note says", "", "give the whole crown"},
	"crown.seating.clearance": {"clearance on the way to the seat", before, "relieve the crown or the neighbouring tooth there, or choose another path of placement", "", "give the crown with its inner surface"},
}
