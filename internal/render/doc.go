// Package render draws shaded pictures of meshes: a z-buffer, smooth normals,
// one light over the viewer's shoulder and a weak one from the side. Draw makes
// the pictures of a report, with a reading as colours of the one scale and its
// limit as a contour line, shaded like the page; Render is for looking at
// surfaces in tests. It measures nothing. The same scene gives the same pixels.
package render
