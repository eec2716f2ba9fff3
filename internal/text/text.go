// Package text sets plain text for terminals. Widths are counted in
// characters; characters of double width are not used by this program.
package text

import (
	"strings"
	"unicode/utf8"
)

// Width returns the number of characters of s.
func Width(s string) int { return utf8.RuneCountInString(s) }

// Wrap breaks text into lines of at most width characters, a word longer than
// that excepted. The first line begins with indent, the others with as many
// blanks.
func Wrap(indent, text string, width int) []string {
	room := width - Width(indent)
	blank := strings.Repeat(" ", Width(indent))
	var out []string
	row := ""
	for _, word := range strings.Fields(text) {
		if row != "" && Width(row)+1+Width(word) > room {
			out = append(out, indent+row)
			indent, row = blank, ""
		}
		if row != "" {
			row += " "
		}
		row += word
	}
	return append(out, indent+row)
}

// Left sets s flush left in n columns, with at least one blank after it.
func Left(s string, n int) string { return s + strings.Repeat(" ", max(1, n-Width(s))) }
