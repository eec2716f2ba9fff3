package main

import (
	"fmt"
	"strconv"
	"strings"

	"crownassay/internal/phantom"
)

type phantomCommand struct {
	Dir        string   `arg:"" help:"Folder to write the case into; it is made when it is not there."`
	Tooth      string   `default:"46" help:"ISO 3950 number of the prepared tooth, positions 1 to 7."`
	Material   string   `default:"zirconia-3y" help:"A material of the limits table."`
	Seed       uint64   `default:"1" help:"The same seed gives the same case."`
	Triangles  int      `default:"200000" help:"Triangles of each surface, about."`
	Noise      float64  `default:"0" help:"Scan noise along the normal, standard deviation in mm."`
	RandomPose bool     `help:"Turn and shift the case at random."`
	FullArch   bool     `help:"Whole arches instead of a quadrant."`
	Crown      bool     `help:"Add a crown for the preparation."`
	Milled     bool     `help:"Add a crown and its milled copy."`
	Before     bool     `help:"Add a crown and a scan of the arch with the old restoration."`
	Seated     bool     `help:"Add a crown and a scan of the arch with it on."`
	Defect     []string `sep:"none" placeholder:"KIND[:AZIMUTH[:EXTENT[:AMOUNT]]]" help:"Make one thing wrong, such as \"short clearance:230\"; angles in degrees, 0 for the default; may be given more than once."`
}

// Run writes the invented case.
func (c *phantomCommand) Run(p *program) error {
	spec := phantom.Spec{Tooth: c.Tooth, Material: c.Material, Seed: c.Seed, Triangles: c.Triangles,
		Noise: c.Noise, RandomPose: c.RandomPose, FullArch: c.FullArch}
	spec.Crown = c.crown()
	for _, text := range c.Defect {
		d, err := parseDefect(text)
		if err != nil {
			return err
		}
		spec.Defects = append(spec.Defects, d)
	}
	made, err := phantom.Build(p.ctx, spec)
	if err != nil {
		return err
	}
	if err := made.Write(c.Dir); err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.stdout, "%s: an invented case of tooth %s; measure it with: crownassay assay %s\n", c.Dir, made.Tooth, c.Dir)
	return err
}

// crown is the crown that the flags ask for; nil for none.
func (c *phantomCommand) crown() *phantom.Crown {
	if !c.Crown && !c.Milled && !c.Before && !c.Seated {
		return nil
	}
	k := &phantom.Crown{Seated: c.Seated}
	if c.Milled {
		k.Finished = &phantom.Made{}
	}
	if c.Before {
		k.Before = &phantom.Old{}
	}
	return k
}

// parseDefect reads KIND[:AZIMUTH[:EXTENT[:AMOUNT]]].
func parseDefect(s string) (phantom.Defect, error) {
	fields := strings.Split(s, ":")
	d := phantom.Defect{Kind: fields[0]}
	into := []*float64{&d.Azimuth, &d.Extent, &d.Amount}
	if len(fields)-1 > len(into) {
		return d, fmt.Errorf("read --defect %s: more than KIND:AZIMUTH:EXTENT:AMOUNT; leave out the rest", s)
	}
	for i, f := range fields[1:] {
		x, err := strconv.ParseFloat(f, 64)
		if err != nil {
			return d, fmt.Errorf("read --defect %s: %q is no number; write for example \"short clearance:230:60:0.4\"", s, f)
		}
		*into[i] = x
	}
	return d, nil
}
