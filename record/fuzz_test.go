package record

import (
	"bytes"
	"testing"
)

// FuzzOpen: what is opened is exactly what sealing it again makes.
func FuzzOpen(f *testing.F) {
	f.Add([]byte(`{"at":"2026-03-01T09:00:02.123456Z","case":0,"format":"crownassay-entry/1","kind":"lot","lot":{"code":"","expires":"","lot":"77","product":"","serial":"","thing":"cement"},"number":1,"previous":"` + Beginning + `","who":"CD"}`))
	f.Add([]byte(`{"at":"2026-03-01T09:00:06Z","case":1,"correction":{"entry":1,"reason":"x"},"format":"crownassay-entry/1","kind":"correction","number":2,"previous":"` + Beginning + `","who":"é"}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		s, err := Raw{Number: 1, Bytes: b, Hash: Hash(b)}.Open()
		if err != nil {
			return
		}
		again, err := Seal(s.Entry)
		if err != nil || !bytes.Equal(again.Bytes, b) {
			t.Errorf("%s opened, but is sealed as %s, %v", b, again.Bytes, err)
		}
	})
}
