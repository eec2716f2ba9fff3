package phantom

// cusp is one hill of an occlusal surface: the tip's place as a share of the
// half sizes (mesiodistal, buccolingual), its drop below the crown's length,
// and the slopes along its ridge to the fossa and across it.
type cusp struct {
	x, y, drop    float64
	along, across float64
}

// ridge is a raised edge between two points (shares of the half sizes).
type ridge struct {
	x0, y0, x1, y1 float64
	drop, slope    float64
}

// anatomy is the plan of a tooth: sizes at the crown's widest and at the
// cervix, the four side profiles from cervix to occlusal as shares of the
// widest half size, and the occlusal relief.
type anatomy struct {
	length, md, bl    float64 // mm
	power             float64 // of the superellipse outline
	mesial, distal    curve
	buccal, lingual   curve
	cusps             []cusp
	ridges            []ridge
	groove            float64 // depth of the buccal groove, mm
	grooveAt, skew    float64 // azimuth of the groove; rhomboid share
	front             bool    // incisor or canine
	blend, functional float64 // rounding of the outer edge, mm; +1 buccal, -1 lingual cusps work
}
