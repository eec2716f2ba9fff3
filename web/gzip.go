package web

import (
	"compress/gzip"
	"net/http"
	"strings"
	"sync"
)

// squeezers are used again, since each takes a megabyte.
var squeezers = sync.Pool{New: func() any {
	z, err := gzip.NewWriterLevel(nil, gzip.BestSpeed)
	if err != nil {
		panic(err) // the level is a constant
	}
	return z
}}

// squeeze compresses bodies that gain by it for who takes gzip. Events are
// passed on as they come.
func squeeze(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Add("Vary", "Accept-Encoding")
		if !strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
			next.ServeHTTP(w, r)
			return
		}
		s := &squeezed{ResponseWriter: w}
		defer s.close()
		next.ServeHTTP(s, r)
	})
}

// squeezed decides by the type of the body, when that is known, whether it is
// compressed.
type squeezed struct {
	http.ResponseWriter
	z       *gzip.Writer
	decided bool
}

// WriteHeader decides and passes the status on.
func (s *squeezed) WriteHeader(status int) {
	s.decide(status)
	s.ResponseWriter.WriteHeader(status)
}

// Write writes through the compressor where there is one.
func (s *squeezed) Write(b []byte) (int, error) {
	s.decide(http.StatusOK)
	if s.z != nil {
		return s.z.Write(b)
	}
	return s.ResponseWriter.Write(b)
}

// Unwrap gives what is wrapped to http.ResponseController and to whom flushes.
func (s *squeezed) Unwrap() http.ResponseWriter { return s.ResponseWriter }

func (s *squeezed) decide(status int) {
	if s.decided {
		return
	}
	s.decided = true
	h := s.Header()
	if status == http.StatusNotModified || status == http.StatusNoContent || h.Get("Content-Encoding") != "" || !gains(h.Get("Content-Type")) {
		return
	}
	h.Del("Content-Length")
	h.Set("Content-Encoding", "gzip")
	s.z = squeezers.Get().(*gzip.Writer)
	s.z.Reset(s.ResponseWriter)
}

// gains reports whether a type of body is smaller for being compressed.
func gains(contentType string) bool {
	t, _, _ := strings.Cut(contentType, ";")
	switch t {
	case "application/json", "application/problem+json", meshType, mapType, "text/html", "text/css", "text/javascript", "image/svg+xml", "application/wasm":
		return true
	}
	return false
}

func (s *squeezed) close() {
	if s.z != nil {
		_ = s.z.Close() // who went away needs no end
		squeezers.Put(s.z)
	}
}
