package web

import (
	"net/http"
	"strings"
)

// Handler serves the bench: its interface under /api, the page elsewhere.
// Hosts are further names, beside the loopback's, that it answers to.
func (b *Bench) Handler(hosts []string) http.Handler {
	mux := http.NewServeMux()
	newAPI(mux, b)
	mux.HandleFunc("/api/", func(w http.ResponseWriter, r *http.Request) {
		http.Error(w, "nothing is at "+r.URL.Path+"; the interface is described at /api/openapi.json", http.StatusNotFound)
	})
	mux.Handle("/", page())
	lower := make([]string, len(hosts))
	for i, h := range hosts {
		lower[i] = strings.ToLower(h)
	}
	return guard(lower, squeeze(mux))
}
