package gs1

// Identifiers that a record keeps in fields of their own.
const (
	productNumber = "01" // GTIN-14
	lotNumber     = "10"
	expires       = "17" // YYMMDD
	serialNumber  = "21"
)

// form is how the data behind an identifier looks.
type form struct {
	least, most int
	digits      bool // else the characters of set 82
}

// forms are the identifiers that may stand on the package of a material or a
// tool, from the table in section 3.2 of the GS1 General Specifications. Those
// with least = most need no separator when they are of the table of predefined
// lengths, see predefined.
var forms = map[string]form{
	"00": {18, 18, true}, "01": {14, 14, true}, "02": {14, 14, true},
	"10": {1, 20, false}, "11": {6, 6, true}, "12": {6, 6, true}, "13": {6, 6, true}, "15": {6, 6, true}, "16": {6, 6, true}, "17": {6, 6, true},
	"20": {2, 2, true}, "21": {1, 20, false}, "22": {1, 20, false},
	"240": {1, 30, false}, "241": {1, 30, false}, "243": {1, 20, false}, "250": {1, 30, false}, "251": {1, 30, false},
	"30": {1, 8, true}, "37": {1, 8, true},
	"400": {1, 30, false}, "414": {13, 13, true}, "422": {3, 3, true},
	"710": {1, 20, false}, "711": {1, 20, false}, "712": {1, 20, false},
	"90": {1, 30, false}, "91": {1, 90, false}, "92": {1, 90, false}, "93": {1, 90, false}, "94": {1, 90, false},
	"95": {1, 90, false}, "96": {1, 90, false}, "97": {1, 90, false}, "98": {1, 90, false}, "99": {1, 90, false},
}

// predefined are the first two digits of identifiers whose elements end
// without a separator (section 7.8.5, element strings with predefined length).
var predefined = map[string]bool{
	"00": true, "01": true, "02": true, "03": true, "04": true, "11": true, "12": true, "13": true, "14": true, "15": true, "16": true,
	"17": true, "18": true, "19": true, "20": true, "31": true, "32": true, "33": true, "34": true, "35": true, "36": true, "41": true,
}

// dates are the identifiers whose data are a date.
var dates = map[string]bool{"11": true, "12": true, "13": true, "15": true, "16": true, "17": true}

// identifierAt returns the identifier that s begins with. No identifier is the
// beginning of another one, so the first that is known is the one.
func identifierAt(s string) (string, bool) {
	for n := 2; n <= 4 && n <= len(s); n++ {
		if _, ok := forms[s[:n]]; ok {
			return s[:n], true
		}
	}
	return "", false
}
