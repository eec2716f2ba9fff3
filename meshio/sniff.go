package meshio

import (
	"bytes"
	"encoding/binary"
	"strings"
)

// decoder reads the bytes of a file whose kind is known.
type decoder func(data []byte, path string) (*File, error)

// sniff tells the kind of a file by its bytes. A binary STL whose count fits
// its length is believed before anything that its free header may begin with.
func sniff(data []byte, path string) (decoder, error) {
	switch {
	case len(data) == 0:
		return nil, nowhere(path, hintAgain, "the file is empty")
	case fitsSTL(data):
		return decodeSTLBinary, nil
	case isPLY(data):
		return decodePLY, nil
	case bytes.HasPrefix(data, []byte("PK\x03\x04")):
		return decode3MF, nil
	}
	if name := foreign(data); name != "" {
		return nil, &UnsupportedError{path, "this is " + name + ", not STL, PLY, OBJ or 3MF", "export the surface in one of these"}
	}
	if isText(data) {
		return sniffText(data, path)
	}
	if looksSTL(data) {
		return decodeSTLBinary, nil
	}
	return nil, unknown(data, path)
}

// looksSTL reports whether what follows the head of a binary STL, whose count
// is wrong, looks like facets: up to 16 are looked at.
func looksSTL(data []byte) bool {
	if len(data) < stlHead+stlFacet {
		return false
	}
	n := min((len(data)-stlHead)/stlFacet, 16)
	if said := binary.LittleEndian.Uint32(data[80:]); said > 0 {
		n = int(min(uint32(n), said))
	}
	return plausibleSTL(data, 0, n)
}

// unknown is the error for bytes of no kind that is known here.
func unknown(data []byte, path string) error {
	if bytes.HasPrefix(data, []byte("solid")) {
		return nowhere(path, hintAgain, "the file begins like an STL but is damaged or cut off (%d bytes)", len(data))
	}
	return &UnsupportedError{path, "the bytes are of no known mesh format", hintExport}
}

// fitsSTL reports whether the facet count at byte 80 fits the length exactly.
func fitsSTL(data []byte) bool {
	return len(data) >= stlHead &&
		uint64(len(data)) == stlHead+stlFacet*uint64(binary.LittleEndian.Uint32(data[80:]))
}

func isPLY(data []byte) bool {
	return bytes.HasPrefix(data, []byte("ply")) && len(data) > 3 && space(data[3])
}

// isText reports whether the first bytes hold no control characters other
// than white space. Bytes from 0x80 up occur in names.
func isText(data []byte) bool {
	for _, c := range data[:min(len(data), 4096)] {
		if c < ' ' && !space(c) || c == 0x7F {
			return false
		}
	}
	return true
}

// objWords are the statements of OBJ that a file may begin with.
var objWords = []string{"v", "vt", "vn", "vp", "f", "o", "g", "s", "mtllib", "usemtl", "l", "p", "cstype", "mg", "lod", "call", "maplib", "usemap"}

// sniffText tells ASCII STL from OBJ by the first word that is no comment.
func sniffText(data []byte, path string) (decoder, error) {
	s := newText(bytes.TrimPrefix(data, []byte("\ufeff")), path)
	w := s.word()
	for w != nil && w[0] == '#' {
		s.rest()
		w = s.word()
	}
	if is(w, "solid") || is(w, "facet") {
		return decodeSTLASCII, nil
	}
	for _, word := range objWords {
		if string(w) == word {
			return decodeOBJ, nil
		}
	}
	if w == nil {
		return nil, nowhere(path, hintExport, "the text holds no statements, only comments or blanks")
	}
	return nil, &UnsupportedError{path, "this is text but no mesh: it begins with " + quote(w), hintExport}
}

// magics are kinds of file that get chosen by mistake, by their first bytes.
var magics = []struct {
	at    int
	magic string
	name  string
}{
	{0, "\x89PNG\r\n\x1a\n", "a PNG picture"},
	{0, "\xff\xd8\xff", "a JPEG picture"},
	{0, "GIF8", "a GIF picture"},
	{0, "II*\x00", "a TIFF picture"},
	{0, "MM\x00*", "a TIFF picture"},
	{8, "WEBP", "a WebP picture"},
	{0, "%PDF", "a PDF document"},
	{0, "{\\rtf", "an RTF document"},
	{0, "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "an old office document"},
	{128, "DICM", "a DICOM file"},
	{0, "\x1f\x8b", "a gzip archive"},
	{0, "BZh", "a bzip2 archive"},
	{0, "\xfd7zXZ\x00", "an xz archive"},
	{0, "\x28\xb5\x2f\xfd", "a zstd archive"},
	{0, "7z\xbc\xaf\x27\x1c", "a 7z archive"},
	{0, "Rar!\x1a\x07", "a RAR archive"},
	{257, "ustar", "a tar archive"},
	{0, "PK\x05\x06", "an empty ZIP archive"},
	{0, "glTF", "a binary glTF scene"},
	{0, "ISO-10303-21", "a STEP model"},
	{0, "#VRML", "a VRML scene"},
	{0, "OFF", "an OFF mesh"},
	{0, "COFF", "an OFF mesh"},
	{0, "# vtk DataFile", "a VTK data file"},
	{0, "\x7fELF", "a program"},
	{0, "MZ", "a program"},
	{0, "SQLite format 3\x00", "an SQLite database"},
	{4, "ftyp", "a video or a picture in an MP4 container"},
}

// foreign names the kind of a file that is no mesh file read here, "" if none
// is recognised.
func foreign(data []byte) string {
	for _, m := range magics {
		if len(data) >= m.at && bytes.HasPrefix(data[m.at:], []byte(m.magic)) {
			return m.name
		}
	}
	return markup(data)
}

// markup names HTML, XML and JSON; for XML by its first element.
func markup(data []byte) string {
	head := strings.ToLower(strings.TrimSpace(strings.TrimPrefix(string(data[:min(len(data), 2048)]), "\ufeff")))
	switch {
	case strings.HasPrefix(head, "<!doctype html"), strings.HasPrefix(head, "<html"):
		return "a web page (HTML)"
	case strings.HasPrefix(head, "<svg"), strings.HasPrefix(head, "<") && strings.Contains(head, "<svg"):
		return "an SVG drawing"
	case strings.HasPrefix(head, "<") && strings.Contains(head, "<amf"):
		return "an AMF model"
	case strings.HasPrefix(head, "<") && strings.Contains(head, "<x3d"):
		return "an X3D scene"
	case strings.HasPrefix(head, "<?xml"):
		return "an XML file"
	case strings.HasPrefix(head, "{"), strings.HasPrefix(head, "["):
		return "a JSON file"
	}
	return ""
}
