package gs1

import (
	"fmt"
	"strings"
	"time"
)

// separator is FNC1 as a scanner sends it.
const separator = "\x1d"

// Code is what an element string says.
type Code struct {
	Product string // GTIN of 14 digits
	Lot     string
	Serial  string
	Expires string            // YYYY-MM-DD; the last day of the month where the code names no day
	Other   map[string]string // the other elements by their identifier
}

// Looks reports whether s is meant as an element string rather than as a lot
// number typed by hand.
func Looks(s string) bool {
	s = strings.TrimSpace(s)
	return strings.HasPrefix(s, "(") || strings.HasPrefix(s, "]") || strings.Contains(s, separator) ||
		len(s) > 18 && strings.HasPrefix(s, productNumber) && checked(s[2:16])
}

// Parse reads an element string. Today tells the century of a date.
func Parse(s string, today time.Time) (Code, error) {
	text := strings.TrimSpace(s)
	for _, symbology := range []string{"]d2", "]C1", "]Q3", "]e0", "]J1"} { // data matrix, 128, QR, data bar, dot code (ISO/IEC 15424)
		text = strings.TrimPrefix(text, symbology)
	}
	split := raw
	if strings.HasPrefix(text, "(") {
		split = bracketed
	}
	var c Code
	if text == "" {
		return c, fmt.Errorf("read code: it is empty; scan it again")
	}
	err := split(text, func(id, data string, at int) error {
		if err := c.set(id, data, today); err != nil {
			return fmt.Errorf("read code at character %d: (%s)%s: %w", at+1, id, data, err)
		}
		return nil
	})
	return c, err
}

// raw splits a string as a scanner sends it.
func raw(s string, element func(id, data string, at int) error) error {
	for at := len(s) - len(strings.TrimPrefix(s, separator)); at < len(s); {
		id, ok := identifierAt(s[at:])
		if !ok {
			return unknown(s, at)
		}
		from := at + len(id)
		n := strings.Index(s[from:], separator)
		if n < 0 {
			n = len(s) - from
		}
		if predefined[id[:2]] && n > forms[id].most {
			n = forms[id].most
		}
		if err := element(id, s[from:from+n], at); err != nil {
			return err
		}
		at = from + n
		at += len(s[at:]) - len(strings.TrimPrefix(s[at:], separator))
	}
	return nil
}

// bracketed splits a string as it is printed. Data may hold a bracket of their
// own; one that opens a known identifier ends them.
func bracketed(s string, element func(id, data string, at int) error) error {
	for at := 0; at < len(s); {
		id, ok := opened(s[at:])
		if !ok {
			return unknown(s, at)
		}
		from := at + len(id) + 2
		end := from
		for end < len(s) {
			if _, next := opened(s[end:]); next {
				break
			}
			end++
		}
		if err := element(id, s[from:end], at); err != nil {
			return err
		}
		at = end
	}
	return nil
}

// opened returns the known identifier in brackets that s begins with.
func opened(s string) (string, bool) {
	if !strings.HasPrefix(s, "(") {
		return "", false
	}
	id, _, ok := strings.Cut(s[1:], ")")
	if !ok {
		return "", false
	}
	_, known := forms[id]
	return id, known
}

func unknown(s string, at int) error {
	rest := s[at:]
	return fmt.Errorf("read code at character %d: %q begins with no application identifier that is known here; type the lot number instead", at+1, rest[:min(len(rest), 12)])
}

// set keeps one element after looking at it.
func (c *Code) set(id, data string, today time.Time) error {
	f := forms[id]
	if n := len(data); n < f.least || n > f.most {
		return fmt.Errorf("%d characters, want %s; scan the code again", n, counts(f))
	}
	for _, r := range data {
		if f.digits && (r < '0' || r > '9') || !strings.ContainsRune(set82, r) {
			return fmt.Errorf("%q does not belong there; scan the code again", r)
		}
	}
	switch id {
	case "00", "01", "02", "414":
		if !checked(data) {
			return fmt.Errorf("the check digit is wrong; scan the code again")
		}
	}
	value := data
	if dates[id] {
		d, err := date(data, today)
		if err != nil {
			return err
		}
		value = d
	}
	return c.keep(id, value)
}

func (c *Code) keep(id, value string) error {
	fields := map[string]*string{productNumber: &c.Product, lotNumber: &c.Lot, serialNumber: &c.Serial, expires: &c.Expires}
	if p := fields[id]; p != nil {
		if *p != "" && *p != value {
			return fmt.Errorf("the code says this twice and differently; scan one package at a time")
		}
		*p = value
		return nil
	}
	if c.Other == nil {
		c.Other = map[string]string{}
	}
	c.Other[id] = value
	return nil
}

func counts(f form) string {
	if f.least == f.most {
		return fmt.Sprint(f.most)
	}
	return fmt.Sprintf("%d to %d", f.least, f.most)
}

// set82 are the characters an element may have (GS1 General Specifications,
// figure 7.11-1, the subset of ISO/IEC 646).
const set82 = `!"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz`

// checked reports whether the last digit is the check digit of those before:
// from the right, weights 3 and 1 in turn, filled up to a multiple of ten
// (GS1 General Specifications, section 7.9.1).
func checked(s string) bool {
	sum := 0
	for i := range len(s) {
		d := int(s[i] - '0')
		if d < 0 || d > 9 {
			return false
		}
		if (len(s)-1-i)%2 == 1 {
			d *= 3
		}
		sum += d
	}
	return sum%10 == 0
}

// date reads YYMMDD. The century is the one that brings the year within 49
// years before and 50 after today's (section 7.12); day 00 is the month's last.
func date(s string, today time.Time) (string, error) {
	var y, m, d int
	if _, err := fmt.Sscanf(s, "%2d%2d%2d", &y, &m, &d); err != nil {
		return "", fmt.Errorf("no date; want YYMMDD")
	}
	now := today.Year()
	y += now - now%100
	switch {
	case y-now >= 51:
		y -= 100
	case y-now <= -50:
		y += 100
	}
	if m < 1 || m > 12 {
		return "", fmt.Errorf("month %d does not exist; scan the code again", m)
	}
	last := time.Date(y, time.Month(m)+1, 0, 0, 0, 0, 0, time.UTC).Day()
	if d == 0 {
		d = last
	}
	if d > last {
		return "", fmt.Errorf("day %d of month %d does not exist; scan the code again", d, m)
	}
	return fmt.Sprintf("%04d-%02d-%02d", y, m, d), nil
}
