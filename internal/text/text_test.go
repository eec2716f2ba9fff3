package text

import (
	"strings"
	"testing"
)

func TestWrap(t *testing.T) {
	for _, c := range []struct {
		indent, text string
		width        int
		want         string
	}{
		{"", "", 10, ""},
		{"- ", "one two three", 9, "- one two\n  three"},
		{"", "one  two\nthree", 80, "one two three"},
		{"", "± 0.05 mm", 6, "± 0.05\nmm"},
		{"  ", "unbreakable word", 6, "  unbreakable\n  word"},
	} {
		if got := strings.Join(Wrap(c.indent, c.text, c.width), "\n"); got != c.want {
			t.Errorf("Wrap(%q, %q, %d) = %q, want %q", c.indent, c.text, c.width, got, c.want)
		}
	}
}

func TestLeft(t *testing.T) {
	for _, c := range []struct {
		s    string
		n    int
		want string
	}{{"±", 3, "±  "}, {"abc", 3, "abc "}, {"abcd", 2, "abcd "}} {
		if got := Left(c.s, c.n); got != c.want {
			t.Errorf("Left(%q, %d) = %q, want %q", c.s, c.n, got, c.want)
		}
	}
}
