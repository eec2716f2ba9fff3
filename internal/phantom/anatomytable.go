package phantom

// The sizes are the mean crown length, mesiodistal and buccolingual widths of
// Ash & Nelson, Wheeler's Dental Anatomy (upper incisors read, the others from
// memory); the reliefs are invented after what every textbook plate shows.

var (
	molarProximal  = curve{0.80, 0.86, 0.93, 0.98, 1.00, 0.985, 0.93}
	premolProximal = curve{0.76, 0.84, 0.92, 0.975, 1.00, 0.98, 0.90}
	frontProximal  = curve{0.80, 0.85, 0.90, 0.95, 0.985, 1.00, 0.98}
	canineProximal = curve{0.78, 0.85, 0.92, 0.97, 1.00, 0.95, 0.78}
	upperBuccal    = curve{0.93, 1.00, 1.00, 0.97, 0.92, 0.86, 0.78}
	upperLingual   = curve{0.90, 0.97, 1.01, 1.00, 0.96, 0.90, 0.82}
	lowerBuccal    = curve{0.92, 1.00, 1.00, 0.95, 0.88, 0.79, 0.69}
	lowerLingual   = curve{0.84, 0.91, 0.97, 1.00, 0.99, 0.96, 0.91}
	incisorBuccal  = curve{0.88, 0.98, 0.97, 0.86, 0.66, 0.44, 0.20}
	incisorLingual = curve{0.92, 1.00, 0.90, 0.72, 0.57, 0.44, 0.22}
	canineBuccal   = curve{0.88, 0.98, 1.00, 0.90, 0.73, 0.52, 0.28}
	canineLingual  = curve{0.92, 1.00, 0.95, 0.80, 0.65, 0.50, 0.30}
	marginalRidges = []ridge{{0.80, 0.42, 0.80, -0.42, 1.35, 0.9}, {-0.80, 0.42, -0.80, -0.42, 1.45, 0.9}}
	premolarRidges = []ridge{{0.72, 0.40, 0.72, -0.40, 1.5, 0.95}, {-0.72, 0.40, -0.72, -0.40, 1.6, 0.95}}
)

// anatomies[0] is the upper, anatomies[1] the lower arch, by position 1 to 8.
var anatomies = [2][9]anatomy{{
	1: incisor(10.5, 8.5, 7.0, -1), 2: incisor(9.0, 6.5, 6.0, -1), 3: canine(10.0, 7.5, 8.0, -1),
	4: premolar(8.5, 7.0, 9.0, -1, 0.5), 5: premolar(8.5, 7.0, 9.0, -1, 0.3),
	6: upperMolar(7.5, 10.0, 11.0, 0.9), 7: upperMolar(7.0, 9.0, 11.0, 1.4), 8: upperMolar(6.5, 8.5, 10.0, 1.8),
}, {
	1: incisor(9.0, 5.0, 6.0, 1), 2: incisor(9.5, 5.5, 6.5, 1), 3: canine(11.0, 7.0, 7.5, 1),
	4: premolar(8.5, 7.0, 7.5, 1, 1.7), 5: premolar(8.0, 7.0, 8.0, 1, 0.6),
	6: lowerMolar(7.5, 11.0, 10.5, true), 7: lowerMolar(7.0, 10.5, 10.0, false), 8: lowerMolar(6.5, 10.0, 9.5, false),
}}

func incisor(length, md, bl, functional float64) anatomy {
	return anatomy{length: length, md: md, bl: bl, power: 2.9, mesial: frontProximal, distal: frontProximal,
		buccal: incisorBuccal, lingual: incisorLingual, front: true, blend: 0.55, functional: functional,
		ridges: []ridge{{0.95, 0, -0.95, 0, 0, 0.9}}}
}

func canine(length, md, bl, functional float64) anatomy {
	return anatomy{length: length, md: md, bl: bl, power: 2.4, mesial: canineProximal, distal: canineProximal,
		buccal: canineBuccal, lingual: canineLingual, front: true, blend: 0.7, functional: functional,
		cusps: []cusp{{0.05, 0, 0, 0.9, 0.62}}}
}

func premolar(length, md, bl, functional, drop float64) anatomy {
	a := anatomy{length: length, md: md, bl: bl, power: 2.35, mesial: premolProximal, distal: premolProximal,
		buccal: upperBuccal, lingual: upperLingual, ridges: premolarRidges, blend: 0.9, functional: functional,
		cusps: []cusp{{0.02, 0.54, 0, 0.62, 0.72}, {0.10, -0.50, drop, 0.58, 0.75}}}
	if functional > 0 {
		a.buccal, a.lingual = lowerBuccal, lowerLingual
		a.cusps = []cusp{{0.02, 0.36, 0, 0.62, 0.66}, {0.12, -0.62, drop, 0.6, 0.7}}
	}
	if functional > 0 && drop < 1 {
		a.cusps = []cusp{{0.02, 0.38, 0, 0.62, 0.66}, {0.30, -0.62, drop, 0.55, 0.75}, {-0.38, -0.58, drop + 0.3, 0.55, 0.8}}
	}
	return a
}

func upperMolar(length, md, bl, fourth float64) anatomy {
	return anatomy{length: length, md: md, bl: bl, power: 2.7, mesial: molarProximal, distal: molarProximal,
		buccal: upperBuccal, lingual: upperLingual, ridges: marginalRidges, blend: 0.9, functional: -1,
		groove: 0.35, grooveAt: 1.62, skew: 0.05,
		cusps: []cusp{{0.50, 0.58, 0.05, 0.55, 0.72}, {-0.46, 0.54, 0.3, 0.55, 0.75},
			{0.26, -0.50, 0, 0.5, 0.62}, {-0.60, -0.56, fourth, 0.6, 0.85}}}
}

func lowerMolar(length, md, bl float64, five bool) anatomy {
	a := anatomy{length: length, md: md, bl: bl, power: 2.8, mesial: molarProximal, distal: molarProximal,
		buccal: lowerBuccal, lingual: lowerLingual, ridges: marginalRidges, blend: 0.85, functional: 1,
		groove: 0.35, grooveAt: 1.40, skew: -0.02,
		cusps: []cusp{{0.50, 0.46, 0.15, 0.55, 0.72}, {-0.46, 0.46, 0.3, 0.55, 0.72},
			{0.48, -0.60, 0, 0.55, 0.72}, {-0.44, -0.60, 0.2, 0.55, 0.75}}}
	if five {
		a.cusps[1] = cusp{-0.16, 0.52, 0.25, 0.55, 0.8}
		a.cusps = append(a.cusps, cusp{-0.70, 0.26, 0.7, 0.6, 0.9})
	}
	return a
}
