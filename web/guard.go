package web

import (
	"fmt"
	"mime"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strings"
)

// policy lets the page load what this program serves and nothing else, with no
// script or style within the page's text.
const policy = "default-src 'self'; img-src 'self' data: blob:; worker-src 'self' blob:; object-src 'none'; base-uri 'none'; " +
	"form-action 'none'; frame-ancestors 'none'"

// guard refuses what does not come from the bench's own page: requests to
// another host's name (which a foreign page could have pointed here), changes
// asked for by another origin, and bodies of a type that a plain form can send.
func guard(hosts []string, next http.Handler) http.Handler {
	origin := http.NewCrossOriginProtection()
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		setHeaders(w.Header(), r.URL.Path)
		switch {
		case !hostAllowed(r.Host, hosts):
			http.Error(w, fmt.Sprintf("this bench does not answer to the name %q; open it at its own address, or name it with --host", r.Host), http.StatusMisdirectedRequest)
		case origin.Check(r) != nil:
			http.Error(w, "a change was asked for by a page that is not the bench's own", http.StatusForbidden)
		case !typeAllowed(r):
			http.Error(w, "the body has a type that this address does not take: application/json, or application/octet-stream for a mesh file", http.StatusUnsupportedMediaType)
		default:
			next.ServeHTTP(w, r)
		}
	})
}

func setHeaders(h http.Header, path string) {
	h.Set("Content-Security-Policy", policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	if strings.HasPrefix(path, "/api/") {
		h.Set("Cache-Control", "private, no-cache") // kept, but asked for again by its tag
	}
}

// hostAllowed reports whether a request is to this machine's loopback or to a
// host that the operator has named.
func hostAllowed(host string, hosts []string) bool {
	name := host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	}
	name = strings.ToLower(strings.Trim(name, "[]"))
	if a, err := netip.ParseAddr(name); err == nil && a.IsLoopback() {
		return true
	}
	return name == "localhost" || slices.Contains(hosts, name)
}

// typeAllowed reports whether a body has the type of its address.
func typeAllowed(r *http.Request) bool {
	if r.ContentLength == 0 || r.Method == http.MethodGet || r.Method == http.MethodHead {
		return true
	}
	t, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if err != nil {
		return false
	}
	if r.Method == http.MethodPost && strings.HasSuffix(r.URL.Path, "/takes") {
		return t == uploadType
	}
	return t == "application/json"
}
