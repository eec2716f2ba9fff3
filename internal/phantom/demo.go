package phantom

import (
	"math"
	"math/rand/v2"
)

// Demo returns six invented cases on different teeth, one sound with its crown
// and five with something to find: on the preparation, on the crown or on the
// restoration before.
func Demo() []Spec {
	// Long crowns, so that molars reach the height they should have.
	tall := map[string]float64{"46": 1.5, "36": 1.5, "16": 1.8, "26": 1.8}
	base := func(name, tooth, title, story string, seed uint64, d ...Defect) Spec {
		return Spec{Name: name, Tooth: tooth, Title: title, Story: story, Seed: seed, Noise: 0.006,
			Correlated: true, RandomPose: true, Shuffled: true, Triangles: 200000, Tall: tall[tooth], Defects: d}
	}
	cases := []Spec{
		base("sound-lower-molar", "46", "Sound preparation, lower right first molar",
			"A large filling with a cracked cusp is replaced. Everything is as planned: the finish line is dry and wide enough, the walls hold.", 11),
		base("short-clearance", "36", "One cusp short of room, lower left first molar",
			"The flexible tab passed over the buccal cusps and was not tried on the distolingual one.", 12,
			Defect{Kind: ShortClearance, Azimuth: 230, Amount: 0.62}),
		base("smeared-finish-line", "16", "Finish line smeared, upper right first molar",
			"Fluid came back into the distopalatal sulcus before the last sweep of the scanner.", 13,
			Defect{Kind: SmearedFinish, Azimuth: 215, Extent: 45}),
		base("undercut-wide-taper", "26", "Undercut and wide taper, upper left first molar",
			"The boxes of the old filling left hollows in the mesial and the distal wall, and the walls were opened to get past them.", 14,
			Defect{Kind: WideTaper, Amount: 26}, Defect{Kind: UndercutDent, Azimuth: 5, Amount: 0.35},
			Defect{Kind: UndercutDent, Azimuth: 185, Amount: 0.3}),
		base("thin-crown", "14", "Thin crown with a heavy contact, upper right first premolar",
			"The design was drawn in a hurry: the fossa was carved deep, and the distal contact was set as tight as on a molar. The crown was milled as it was.", 15,
			Defect{Kind: ThinFossa, Amount: 0.42}, Defect{Kind: HeavyContact, Azimuth: 180, Amount: 0.09}, Defect{Kind: MillingError, Amount: 0.012}),
		base("old-crown", "25", "Old crown with an overhang and its replacement, upper left second premolar",
			"The gum beside the old crown bled for years. The scan from before it came off is kept beside the new design.", 23,
			Defect{Kind: OldOverhang, Azimuth: 270, Amount: 0.6}, Defect{Kind: OldContour, Azimuth: 90, Amount: 0.5}),
	}
	cases[0].Crown = &Crown{}
	return cases
}

// demoTeeth are the teeth random cases are made on.
var demoTeeth = []string{"46", "16", "36", "11", "25", "14", "34", "13", "17", "23", "26", "47", "45", "21", "44", "24", "15", "37", "35", "43"}

// RandomSpec returns a plausible sound case in random pose, without noise.
// The teeth go round with the seed.
func RandomSpec(seed uint64) Spec {
	rng := stream(seed, 8)
	return Spec{
		Tooth: demoTeeth[seed%uint64(len(demoTeeth))], Seed: seed, RandomPose: true, Shuffled: true, Float32: true,
		Triangles: int(60000 * math.Pow(5, rng.Float64())), FullArch: rng.Float64() < 0.15,
	}
}

// RandomCrown returns the case of RandomSpec with a plausible sound crown.
// The case without them keeps its bytes.
func RandomCrown(seed uint64) Spec {
	rng := stream(seed, streamPlan)
	s := RandomSpec(seed)
	wall := uniform(rng, 0.04, 0.08)
	s.Crown = &Crown{
		Triangles: int(50000 * math.Pow(4, rng.Float64())),
		Wall:      wall, Occlusal: wall + uniform(rng, 0, 0.04), Seal: uniform(rng, 0.25, 0.45),
		Gap: around2(rng, 0.02, 0.05), Overhang: around2(rng, -0.05, 0.05),
		Mesial: &Touch{uniform(rng, -0.03, 0.01), uniform(rng, 1.8, 2.6)},
		Distal: &Touch{uniform(rng, -0.03, 0.01), uniform(rng, 1.8, 2.6)},
		Bites:  []Bite{{Touch: Touch{uniform(rng, -0.02, 0.05), 9}}},
	}
	return s
}

// around2 draws a base and one arc of another value.
func around2(rng *rand.Rand, lo, hi float64) Round {
	return Round{Base: uniform(rng, lo, hi), Arcs: []Arc{{uniform(rng, 0, 360), uniform(rng, 40, 120), uniform(rng, lo, hi)}}}
}
