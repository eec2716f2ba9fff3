package assay

import "crownassay/measure"

// CrownSettings returns what the readings of the case's crown depend on beside
// its form.
func (c *Case) CrownSettings() measure.CrownSettings {
	m := c.Material.Mechanics
	s := measure.CrownSettings{Material: c.Material.Title, Modulus: m.Modulus, Strength: m.Strength,
		Shrinkage: m.Shrinkage, ToolRadius: c.ToolRadius}
	for _, b := range c.Blocks {
		s.Blocks = append(s.Blocks, measure.Block{Name: b.Name, Length: b.Length, Width: b.Width, Height: b.Height, Sprue: b.Sprue})
	}
	return s
}
