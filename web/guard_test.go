package web

import (
	"bytes"
	"compress/gzip"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// TestGuardRefusesForeignPages sends what a page of another origin, or a name
// pointed at this machine, could send. Nothing of it may reach a handler: there
// is no store behind them here, so one that ran would panic.
func TestGuardRefusesForeignPages(t *testing.T) {
	h := (&Bench{}).Handler([]string{"Bench.Practice.Example"})
	for _, c := range []struct {
		name, method, path, host, body string
		header                         http.Header
		want                           int
	}{
		{"foreign host", "GET", "/api/cases", "evil.example", "", nil, 421},
		{"loopback as part of a name", "GET", "/api/cases", "127.0.0.1.evil.example", "", nil, 421},
		{"foreign origin", "POST", "/api/cases", "localhost:7460", "{}", http.Header{"Origin": {"http://evil.example"}, "Content-Type": {"application/json"}}, 403},
		{"another port's origin", "POST", "/api/cases", "localhost:7460", "{}", http.Header{"Origin": {"http://localhost:8080"}, "Content-Type": {"application/json"}}, 403},
		{"cross site by the browser's word", "DELETE", "/api/jobs/1", "127.0.0.1:7460", "", http.Header{"Sec-Fetch-Site": {"cross-site"}}, 403},
		{"a form", "POST", "/api/cases", "[::1]:7460", "a=b", http.Header{"Content-Type": {"application/x-www-form-urlencoded"}}, 415},
		{"a mesh as text", "POST", "/api/cases/1/takes?name=a.stl", "localhost", "solid", http.Header{"Content-Type": {"text/plain"}}, 415},
		{"no type", "PUT", "/api/settings", "localhost", "{}", nil, 415},
		{"larger than a body may be", "POST", "/api/cases", "localhost", `{"title":"` + strings.Repeat("x", mostBody) + `"}`, http.Header{"Content-Type": {"application/json"}}, 413},
		{"unknown field", "POST", "/api/cases", "localhost", `{"tooth":"46","material":"x","name":"A. Patient"}`, http.Header{"Content-Type": {"application/json"}}, 422},
		{"a name for a code", "POST", "/api/cases", "localhost", `{"tooth":"46","material":"zirconia-3y","patient":"A. Patient"}`, http.Header{"Content-Type": {"application/json"}}, 422},
		{"own name", "GET", "/api/limits", "bench.practice.example:80", "", nil, 200},
		{"loopback", "GET", "/api/readings", "[::1]:7460", "", nil, 200},
		{"own origin", "PUT", "/api/nothing", "localhost:7460", "{}", http.Header{"Origin": {"http://localhost:7460"}, "Content-Type": {"application/json"}}, 404},
	} {
		r := httptest.NewRequest(c.method, c.path, strings.NewReader(c.body))
		r.Host = c.host
		for k, v := range c.header {
			r.Header[k] = v
		}
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code != c.want {
			t.Errorf("%s: status %d, want %d: %.200s", c.name, w.Code, c.want, w.Body)
		}
		if p := w.Header().Get("Content-Security-Policy"); !strings.Contains(p, "default-src 'self'") || strings.Contains(p, "unsafe") {
			t.Errorf("%s: policy %q", c.name, p)
		}
	}
}

// TestSqueezedBodyIsTheBody unpacks an answer and holds it to the plain one.
func TestSqueezedBodyIsTheBody(t *testing.T) {
	h := (&Bench{}).Handler(nil)
	get := func(encoding string) *httptest.ResponseRecorder {
		r := httptest.NewRequest("GET", "/api/readings", nil)
		r.Host = "localhost"
		r.Header.Set("Accept-Encoding", encoding)
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w
	}
	plain, packed := get("identity"), get("gzip")
	if e := packed.Header().Get("Content-Encoding"); e != "gzip" || packed.Body.Len() >= plain.Body.Len() {
		t.Fatalf("encoding %q, %d bytes of %d", e, packed.Body.Len(), plain.Body.Len())
	}
	z, err := gzip.NewReader(packed.Body)
	if err != nil {
		t.Fatal(err)
	}
	got, err := io.ReadAll(z)
	if err != nil || !bytes.Equal(got, plain.Body.Bytes()) {
		t.Errorf("unpacked %d bytes, want %d, %v", len(got), plain.Body.Len(), err)
	}
}

// TestPagePlaces answers a place within the page with the page, or says that
// none is built; a file that is not there is 404 either way.
func TestPagePlaces(t *testing.T) {
	h := (&Bench{}).Handler(nil)
	status := func(path string) (int, string) {
		r := httptest.NewRequest("GET", path, nil)
		r.Host = "localhost"
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w.Code, w.Body.String()
	}
	want := http.StatusServiceUnavailable
	if HasPage() {
		want = http.StatusOK
	}
	for _, p := range []string{"/", "/cases/3"} {
		if got, body := status(p); got != want || !strings.Contains(strings.ToLower(body), "<!doctype html>") {
			t.Errorf("%s: status %d, want %d: %.80s", p, got, want, body)
		}
	}
	if got, _ := status("/api/none"); got != http.StatusNotFound {
		t.Errorf("/api/none: status %d", got)
	}
}
