package reading

import (
	"strings"
	"testing"

	"crownassay/unit"
)

// contract is the list of ids and units as agreed with everyone who reads the
// JSON; a change here is a break of the output contract.
const contract = `
scan.holes 1
scan.spacing mm
scan.noise mm
scan.bite.overlap mm
scan.bite.contacts 1
finish_line.length mm
finish_line.legible %
finish_line.width.min mm
finish_line.width.mean mm
finish_line.roughness mm
finish_line.neighbour.mesial mm
finish_line.neighbour.distal mm
preparation.convergence.mesiodistal deg
preparation.convergence.buccolingual deg
preparation.convergence.mean deg
preparation.height.min mm
preparation.height_to_base 1
preparation.undercut.depth mm
preparation.undercut.area mm^2
preparation.placement.window deg
preparation.resistance.share %
preparation.resistance.limit deg
preparation.retention.area mm^2
preparation.line_angle.radius mm
preparation.clearance.occlusal mm
preparation.reduction.occlusal mm
preparation.reduction.axial mm
preparation.room mm
preparation.ferrule mm
finish_line.depth mm
crown.strength.radial N
crown.tool.left mm
crown.blank mm
crown.seating.clearance mm
existing.contour.emergence.max deg
existing.contour.overhang.max mm
existing.contour.bulge.max mm
crown.thickness.occlusal mm
crown.thickness.axial mm
crown.fit.marginal_gap.mean mm
crown.fit.marginal_gap.max mm
crown.fit.discrepancy.max mm
crown.contour.overhang.max mm
crown.contour.overhang.min mm
crown.fit.internal.mean mm
crown.fit.interference mm
crown.contact.mesial mm
crown.contact.distal mm
crown.contact.occlusal mm
crown.contour.emergence.max deg
crown.contour.bulge.max mm
crown.contour.against_mirror mm
crown.ridge.step.mesial mm
crown.ridge.step.distal mm
finished.deviation.rms mm
finished.deviation.p95 mm
finished.contact.mesial mm
finished.fit.marginal_gap.max mm
`

func TestContract(t *testing.T) {
	for _, row := range strings.Split(strings.TrimSpace(contract), "\n") {
		id, u, _ := strings.Cut(row, " ")
		m, ok := Find(ID(id))
		if !ok || m.Unit != unit.Unit(u) {
			t.Errorf("Find(%s) = %q, %v, want unit %q", id, m.Unit, ok, u)
		}
	}
}

func TestRowsAreComplete(t *testing.T) {
	seen := map[ID]bool{}
	for _, m := range Measurands {
		if seen[m.ID] {
			t.Errorf("%s is in the table twice", m.ID)
		}
		seen[m.ID] = true
		if m.Name == "" || m.HoldPoint == "" || m.Sense == "" || !strings.HasSuffix(m.Definition, ".") {
			t.Errorf("%s lacks a name, hold point, sense or definition in sentences: %+v", m.ID, m)
		}
		if m.Unit == unit.Degree && m.Sensitivity == 0 {
			t.Errorf("%s is an angle and says nothing about the scanner", m.ID)
		}
	}
}

func TestFindUnknown(t *testing.T) {
	if m, ok := Find("preparation.colour"); ok {
		t.Errorf("Find of an unknown id = %+v", m)
	}
}

func TestSector(t *testing.T) {
	for _, c := range []struct {
		azimuth float64
		want    string
	}{{0, "M"}, {22.4, "M"}, {22.6, "MB"}, {90, "B"}, {180, "D"}, {212, "DL"}, {270, "L"}, {337.4, "ML"}, {337.6, "M"}, {359.9, "M"}, {-90, "L"}} {
		if got := Sector(c.azimuth); got != c.want {
			t.Errorf("Sector(%g) = %s, want %s", c.azimuth, got, c.want)
		}
	}
}
