package phantom

import "fmt"

// The kinds of defects of a crown, its copy and the old restoration; each
// brings a crown with it where the spec has none. Azimuth is the middle of the
// place; Extent 0 and Amount 0 mean what stands in brackets.
const (
	ThinFossa     = "thin fossa"     // chewing surface hollowed until it is Amount thick in the middle (0.5 mm)
	HeavyContact  = "heavy contact"  // towards the neighbour nearest in azimuth, Amount deep (0.08 mm)
	OpenContact   = "open contact"   // the same, open by Amount (0.15 mm)
	HighSpot      = "high spot"      // within Extent (50 degrees) the bite is Amount too high (0.12 mm)
	NoBite        = "out of bite"    // the lightest distance to the opposing teeth is Amount (0.3 mm)
	Overhang      = "overhang"       // the margin reaches Amount too far over Extent (60 degrees, 0.25 mm)
	ShortMargin   = "short margin"   // the margin ends Amount too early (60 degrees, 0.15 mm)
	OpenMargin    = "open margin"    // the marginal gap is Amount (60 degrees, 0.15 mm)
	BluntMargin   = "blunt margin"   // the margin edge is bevelled, Amount wide (0.08 mm)
	OverContour   = "over-contour"   // a belly in the lower third, Amount out (0.6 mm), Extent / 24 mm half wide (60 degrees)
	RidgeStep     = "ridge step"     // the marginal ridge lowered by about Amount (0.5 mm)
	TightCavity   = "tight cavity"   // the cavity presses Amount into the wall (0.04 mm)
	Binds         = "binds"          // fills the space under the neighbour's bulge up to Amount (0.05 mm)
	SharpCavity   = "sharp cavity"   // the cavity's line angle has a radius of Amount (0.15 mm)
	CrownInverted = "inverted crown" // facets turned over
	CrownOpen     = "crown without cavity surface"
	CrownSolid    = "solid block" // closed flat below
	CrownUpside   = "crown upside down"
	CrownAway     = "crown in another frame"
	CrownSeveral  = "crown in two pieces"
	CrownCrossing = "crown that crosses itself"
	CrownOther    = "crown for another tooth"
	OldOverhang   = "old overhang"     // the old margin reaches Amount beyond the new finish line over Extent (70 degrees, 0.6 mm)
	OldContour    = "old over-contour" // the old restoration has a belly Amount out (60 degrees, 0.7 mm)
	OldAway       = "old scan in another frame"
	MillingError  = "milling error" // the milled copy errs by Amount (0.03 mm)
	MilledAway    = "milled copy in another frame"
)

// crownUsual holds the default extent (degrees) and amount of the crown's
// kinds.
var crownUsual = map[string][2]float64{
	ThinFossa: {0, 0.5}, HeavyContact: {0, 0.08}, OpenContact: {0, 0.15}, HighSpot: {50, 0.12}, NoBite: {0, 0.3},
	Overhang: {60, 0.25}, ShortMargin: {60, 0.15}, OpenMargin: {60, 0.15}, BluntMargin: {0, 0.08}, OverContour: {60, 0.6},
	RidgeStep: {0, 0.5}, TightCavity: {0, 0.04}, Binds: {0, 0.05}, SharpCavity: {0, 0.15},
	CrownInverted: {}, CrownOpen: {}, CrownSolid: {}, CrownUpside: {}, CrownAway: {}, CrownSeveral: {}, CrownCrossing: {}, CrownOther: {},
	OldOverhang: {70, 0.6}, OldContour: {60, 0.7}, OldAway: {}, MillingError: {0, 0.03}, MilledAway: {},
}

// shellOf names what each kind does to the shell as a whole.
var shellOf = map[string]string{
	CrownInverted: ShellInverted, CrownOpen: ShellOpen, CrownSolid: ShellSolid, CrownUpside: ShellUpside,
	CrownAway: ShellAway, CrownSeveral: ShellSeveral, CrownCrossing: ShellCrossing, CrownOther: ShellOther,
}

// withCrown completes the crown and lays the defects on it.
func (s Spec) withCrown() (Spec, error) {
	for _, d := range s.Defects {
		if _, ok := crownUsual[d.Kind]; ok && s.Crown == nil {
			s.Crown = &Crown{}
		}
	}
	if s.Crown == nil {
		return s, nil
	}
	if _, ok := s.has(NoPreparation); ok {
		return s, fmt.Errorf("invent crown: %q leaves nothing to crown; leave one of them out", NoPreparation)
	}
	c, err := s.Crown.complete()
	if err != nil {
		return s, err
	}
	for _, d := range s.Defects {
		c.spoil(d)
	}
	s.Crown = c
	return s, c.check()
}

// spoil lays one defect on the crown.
func (c *Crown) spoil(d Defect) {
	arc := Arc{d.Azimuth, d.Extent, d.Amount}
	switch d.Kind {
	case ThinFossa:
		c.Fossa = d.Amount
	case HeavyContact:
		*c.side(d.Azimuth) = &Touch{-d.Amount, 2.2}
	case OpenContact:
		*c.side(d.Azimuth) = &Touch{d.Amount, 2.6}
	case HighSpot:
		c.Bites = append(c.Bites[:len(c.Bites):len(c.Bites)], Bite{Touch{-d.Amount, 1.2}, d.Azimuth, d.Extent})
	case NoBite:
		c.Bites = []Bite{{Touch: Touch{d.Amount, 9}}}
	case Overhang:
		c.Overhang.add(arc)
	case ShortMargin:
		arc.Value = -d.Amount
		c.Overhang.add(arc)
	case OpenMargin:
		c.Gap.add(arc)
	case BluntMargin:
		c.Edge = d.Amount
	case TightCavity:
		c.Tight = append(c.Tight, Hill{d.Azimuth, 0.45, 1.5, -d.Amount - c.Wall})
	case SharpCavity:
		c.Cavity = d.Amount
	default:
		c.spoilForm(d)
	}
	if kind, ok := shellOf[d.Kind]; ok {
		c.Shell = kind
	}
}

// spoilForm lays a defect of the outer form, of the copy or of the old
// restoration on the crown.
func (c *Crown) spoilForm(d Defect) {
	belly := Hill{d.Azimuth, 0.3, d.Extent / 24, d.Amount}
	switch d.Kind {
	case OverContour:
		c.Hills = append(c.Hills, belly)
	case RidgeStep:
		c.Hills = append(c.Hills, Hill{d.Azimuth, ridgeAt, 2.6, -d.Amount / ridgeRise})
	case Binds:
		c.Under = append(c.Under, Under{d.Azimuth, d.Amount})
	case CrownCrossing:
		c.Hills = append(c.Hills, Hill{0, 1, 1.3, -2.6})
	case OldOverhang:
		c.old().Overhang.add(Arc{d.Azimuth, d.Extent, d.Amount})
	case OldContour:
		o := c.old()
		o.Hills = append(o.Hills, belly)
	case OldAway:
		c.old().Own = true
	case MillingError:
		c.made().Error = d.Amount
	case MilledAway:
		c.made().Own = true
	}
}

// A marginal ridge lies so high on the crown, as a share of its length, and
// falls by this share of a hill along the ray there.
const (
	ridgeAt   = 0.83
	ridgeRise = 0.42
)

// side is the contact on the side of an azimuth.
func (c *Crown) side(azimuth float64) **Touch {
	if d := azimuth - 360*float64(int(azimuth/360)); d > 90 && d < 270 {
		return &c.Distal
	}
	return &c.Mesial
}

// add puts one more arc without touching the list that others may hold.
func (r *Round) add(a Arc) { r.Arcs = append(r.Arcs[:len(r.Arcs):len(r.Arcs)], a) }

// old is the old restoration, a plain one where the spec had none.
func (c *Crown) old() *Old {
	if c.Before == nil {
		c.Before = &Old{}
	}
	return c.Before
}

// made is the milled copy, the usual one where the spec had none.
func (c *Crown) made() *Made {
	if c.Finished == nil {
		c.Finished = &Made{Error: usualMadeError, Wave: usualMadeWave}
	}
	return c.Finished
}
