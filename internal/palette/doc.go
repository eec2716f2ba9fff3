// Package palette is the one colour scale of the program's pictures: even in
// perceived lightness, in the same order for every kind of colour vision and on
// a grey print. It is the page's scale.
package palette
