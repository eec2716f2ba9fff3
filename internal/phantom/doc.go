// Package phantom invents cases with exactly known geometry: a prepared
// tooth, its neighbours and gingiva, the opposing arch, and the truth that the
// measuring code must find, computed from the formulae and never from a mesh.
//
// Every tooth is a polar sheet. In the tooth's own frame x is mesial, y buccal
// and z occlusal; the azimuth is 0 at mesial and 90 degrees at buccal. The
// preparation is a family of profile curves, one in the half plane of each
// azimuth, from the occlusal centre over the line angle, down the wall to the
// finish line, down the root into the sulcus and up over the gingiva. Natural
// crowns are level sets of a smooth function. Arch coordinates have the
// occlusal direction of the prepared arch as +z and the arch in the xy plane.
//
// A crown for the preparation is a closed shell: the preparation's profile moved
// out by the cement space, and the natural crown brought to the margin edge and
// changed by hills. Contacts are hills solved for a wanted distance. Its truth,
// that of a milled copy and that of an old restoration come from these formulae
// by root finding and searches of their own.
//
// Lengths are millimetres, angles radians inside and degrees in Spec, Defect
// and Truth. The same Spec gives the same bytes for any number of workers.
// Nothing here imports measuring code.
package phantom
