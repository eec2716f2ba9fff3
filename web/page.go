package web

import (
	"embed"
	"errors"
	"io/fs"
	"net/http"
	"path"
	"strings"
)

// built is the page as the build of web/src left it; in a fresh tree there is
// none.
//
//go:embed all:dist
var built embed.FS

//go:embed unbuilt.html
var unbuilt []byte

// HasPage reports whether the page was built into the program.
func HasPage() bool {
	_, err := fs.Stat(built, "dist/index.html")
	return err == nil
}

// page serves the built page. A path that names no file is a place within the
// page and is answered with the page itself. Files whose name carries a hash
// never change.
func page() http.Handler {
	files, err := fs.Sub(built, "dist")
	if err != nil {
		panic(err) // the folder is embedded
	}
	serve := http.FileServerFS(files)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		name := strings.TrimPrefix(path.Clean(r.URL.Path), "/")
		_, err := fs.Stat(files, name)
		switch {
		case !HasPage():
			w.Header().Set("Content-Type", "text/html; charset=utf-8")
			w.WriteHeader(http.StatusServiceUnavailable)
			_, _ = w.Write(unbuilt)
		case errors.Is(err, fs.ErrNotExist) && path.Ext(name) == "":
			r2 := r.Clone(r.Context())
			r2.URL.Path = "/"
			serve.ServeHTTP(w, r2)
		default:
			if strings.HasPrefix(name, "assets/") {
				w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
			} else {
				w.Header().Set("Cache-Control", "no-cache")
			}
			serve.ServeHTTP(w, r)
		}
	})
}
