// Package render draws shaded pictures of meshes: a z-buffer, smooth normals,
// one light over the viewer's shoulder and a weak one from the side. It is for
// looking at surfaces in tests and in the demo; it measures nothing.
package render
