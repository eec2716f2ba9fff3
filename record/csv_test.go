package record

import (
	"bytes"
	"encoding/csv"
	"testing"

	"crownassay/internal/golden"
)

func TestCSV(t *testing.T) {
	var doc bytes.Buffer
	if err := sample(t).WriteJSON(&doc); err != nil {
		t.Fatal(err)
	}
	d, err := ReadDocument(doc.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	d.Readings[0].Note = "a \"word\", a comma\nand a line"
	var b bytes.Buffer
	if err := d.WriteCSV(&b); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(b.Bytes())).ReadAll()
	if err != nil || len(rows) != 1+len(d.Readings) {
		t.Fatalf("%d rows, %v; want %d", len(rows), err, 1+len(d.Readings))
	}
	for i, r := range d.Readings {
		if row := rows[i+1]; len(row) != len(csvColumns) || row[4] != string(r.ID) || row[6] != exact(r.Value) || row[19] != r.Note {
			t.Errorf("row %d is %q, want %s", i+1, row, r.ID)
		}
	}
	golden.Equal(t, "readings.csv", b.String())
}
