package measure

// CrownSettings is what the readings of a crown depend on beside its form.
type CrownSettings struct {
	Material  string  // in words
	Modulus   float64 // of elasticity, GPa; 0: not known
	Strength  float64 // flexural, MPa; 0: not known
	Shrinkage float64 // share of a length lost in sintering after milling; 0: milled as it will be

	Made bool // the crown has been milled: block and tool are not asked any more

	ToolRadius float64 // of the finest tool's tip, mm; 0 takes finestTool
	Blocks     []Block // to choose from: the first that holds the crown is taken, else the last
}

// Block is a nominal size of block, mm. The sprue is at an end of the length
// and takes its allowance from it; the placement axis lies along the height.
type Block struct {
	Name                         string
	Length, Width, Height, Sprue float64
}

// finestTool is the tip radius, mm, of the finest milling tool in common use:
// ball-end tools of 1.0, 0.5 and 0.3 mm (Kim et al. 2016, J Prosthet Dent,
// read). Too small, and a cavity that binds is passed.
const finestTool = 0.3

func (s CrownSettings) tool() float64 {
	if s.ToolRadius > 0 {
		return s.ToolRadius
	}
	return finestTool
}

// enlargement is how many times as large a crown is milled that shrinks by a
// share s when it is sintered: 1/(1-s), 20 % gives 1.25 (Materials 2025,
// 18:3217, read).
func (s CrownSettings) enlargement() float64 { return 1 / (1 - s.Shrinkage) }
