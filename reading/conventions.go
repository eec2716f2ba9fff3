package reading

// Convention is a word that the definitions of the measurands rest on.
type Convention struct{ Name, Text string }

// Conventions are the definitions that all measurands share.
var Conventions = []Convention{
	{"Placement axis", "The unit vector p points from the preparation outward to the occlusal, along the path on " +
		"which a crown is seated. It is the direction with the least area of axial wall facing away from it; among " +
		"directions without any such area it is the one whose smallest angle to all axial walls is largest, which is " +
		"the centre of the cone of free directions."},
	{"Frame", "The origin is the centroid of the finish line and the z axis is p. Azimuth is counted around p in " +
		"degrees: 0 is mesial (the mesial direction projected square to p), 90 buccal or facial, 180 distal, 270 lingual " +
		"or palatal, in every quadrant. Eight sectors of 45 degrees carry the names M, MB, B, DB, D, DL, L and ML; M is " +
		"centred on azimuth 0. Where the mesial direction is unknown, azimuth 0 is arbitrary and no sector is named."},
	{"Section", "The section at an azimuth is the half plane that holds the axis through the origin and the direction " +
		"of that azimuth. There are 360 of them, one a degree, and a profile has one value for each section in which " +
		"the value could be measured."},
	{"Finish line", "The finish line is the closed curve on which the prepared surface ends at the cavosurface angle. " +
		"In a section, walking down the axial wall and out along the finish line, it is the point of the strongest " +
		"convex turn to the unprepared root or to the sulcus. A line traced by the operator replaces the found one, " +
		"each of its points moved to the nearest point of the scan."},
	{"Axial wall", "The axial wall of a section is the profile from the inner end of the finish line up to the " +
		"occlusoaxial line angle. The inner end is the first point, walking in from the finish line, at which the " +
		"profile is inclined 45 degrees to p. The wall's straight line is fitted by least squares to the part between " +
		"one quarter and three quarters of its height; its inclination is positive when the wall leans to the axis " +
		"going up."},
	{"Occlusoaxial line angle", "Going up, the line angle of a section is the first point of the profile above the " +
		"wall at which the profile is inclined 45 degrees to p. The occlusal surface is what lies above the line angles."},
	{"Occlusal zones", "On premolars and molars the occlusal surface is divided into three zones. The fossa is the part " +
		"nearer the axis than 0.45 of the line angle's distance from the axis at that azimuth. Of the rest, the functional " +
		"cusps are the half on the functional side (lingual in the upper arch, buccal in the lower) and the other cusps " +
		"are the other half."},
	{"Signed distance", "A distance to a surface is positive outside it, which is a gap, and negative inside it, which " +
		"is a penetration. Beyond the border of an open scan there is no inside, and such places are left out."},
	{"Robust extreme", "The robust minimum of a quantity over a surface is the value that 0.05 mm^2 of that surface goes " +
		"below, the robust maximum the value that 0.05 mm^2 goes above, so that a single bad vertex is no finding. " +
		"Along a profile it is the minimum or maximum after a running median over three sections. Every robust extreme " +
		"carries the place where it was found."},
	{"Legible", "The finish line is legible at an azimuth if no hole of the scan lies within 0.2 mm of it, the profile " +
		"turns there by at least 20 degrees within 0.2 mm to either side, and the turn stands out of the scan's noise."},
	{"Uncertainty", "Every value carries an expanded uncertainty U = 2 u (coverage factor k = 2, JCGM 100). The standard " +
		"uncertainty u is the root of the sum of squares of its parts: the scanner's, the sampling of the mesh, its noise, " +
		"and how well the finish line repeats."},
	{"Verdict", "With a lower limit T, a value y conforms if y >= T + U, fails if y < T - U and is undecided in between; " +
		"an upper limit is mirrored (guard band U, JCGM 106). A count or another value without uncertainty has U = 0. " +
		"A reading that could not be made is unmeasured and says why; one to which no limit applies informs."},
}
