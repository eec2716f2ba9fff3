package tooth

import "strings"

// SectorWord returns the word for a sector (M MB B DB D DL L ML) of this
// tooth: front teeth have a facial instead of a buccal side, upper teeth a
// palatal instead of a lingual one (common practice).
func (t Tooth) SectorWord(sector string) string {
	outer, inner := "buccal", "lingual"
	if t.Anterior() {
		outer = "facial"
	}
	if t.Upper() {
		inner = "palatal"
	}
	side := map[byte]string{'B': outer, 'L': inner, 'M': "mesial", 'D': "distal"}
	switch len(sector) {
	case 1:
		return side[sector[0]]
	case 2:
		return strings.TrimSuffix(side[sector[0]], "al") + "o" + side[sector[1]]
	}
	return ""
}
