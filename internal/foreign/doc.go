// Package foreign makes surfaces as other makers and scanners give them, for
// tests of the whole program: solids by signed functions, cut into facets by
// marching tetrahedra; bodies turned with few long facets; and what goes wrong
// with files on their way (noise, holes, islands, facets turned over, coarse
// meshes). It shares no formula and no meshing with the invented cases of the
// demo, so that a mistake there is seen here.
//
// A preparation here is a half section that is scaled sideways by the outline
// of the finish line, so that convergence, widths, heights, finish line and
// wall area follow in closed form. Lengths are millimetres, angles degrees;
// the finish line lies in z = 0, the placement axis is z, mesial is x.
package foreign
