package listen

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"net/http"
	"strings"
)

// random is a name that cannot be guessed: 128 bits.
func random() string {
	b := make([]byte, 16)
	_, _ = rand.Read(b) // never fails
	return base64.RawURLEncoding.EncodeToString(b)
}

// policy lets the page load what this server has, and nothing else; nobody may put it in a frame.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src " +
	"data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// headers are on every answer. Memory can be shared with the audio thread only where the page is by itself:
// COOP and COEP.
func headers(h http.Header) {
	h.Set("Content-Security-Policy", policy)
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Embedder-Policy", "require-corp")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cache-Control", "no-store")
}

// guard lets only a page of its own, or an address that was typed, through to next. Every other page of the
// same browser can send requests here too, which is what it is for.
type guard struct {
	host, token string
	next        func(w http.ResponseWriter, r *http.Request, path []string) // path: what comes after the token
}

func (g *guard) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	headers(w.Header())
	if code, why := g.refuses(r); code != 0 {
		http.Error(w, why, code)
		return
	}
	g.next(w, r, strings.Split(strings.TrimPrefix(r.URL.Path, "/"), "/")[1:])
}

// refuses says why a request is refused; 0: it is not.
func (g *guard) refuses(r *http.Request) (code int, why string) {
	origin, site := r.Header.Get("Origin"), r.Header.Get("Sec-Fetch-Site")
	switch {
	case r.Host != g.host: // a name that was made to lead here
		return http.StatusMisdirectedRequest, "wrong Host"
	case len(r.Header.Values("Origin")) > 1 || origin != "" && origin != "http://"+g.host:
		return http.StatusForbidden, "wrong Origin"
	// a browser without it sends none
	case len(r.Header.Values("Sec-Fetch-Site")) > 1 || site != "" && site != "same-origin" && site != "none":
		return http.StatusForbidden, "wrong Sec-Fetch-Site"
	case r.Method != http.MethodGet && r.Method != http.MethodPost:
		return http.StatusMethodNotAllowed, "GET and POST only"
	case r.Method == http.MethodPost && origin == "":
		return http.StatusForbidden, "POST without Origin"
	case r.Header.Get("Range") != "":
		return http.StatusRequestedRangeNotSatisfiable, "no ranges"
	case r.URL.RawQuery != "" || r.URL.RawPath != "" || strings.Contains(r.URL.Path, "//") ||
		strings.ContainsAny(r.URL.Path, "\\\x00%") || strings.Contains(r.URL.Path, ".."):
		return http.StatusBadRequest, "no such address"
	}
	token, _, ok := strings.Cut(strings.TrimPrefix(r.URL.Path, "/"), "/")
	if !ok || subtle.ConstantTimeCompare([]byte(token), []byte(g.token)) != 1 {
		return http.StatusNotFound, "not found"
	}
	return 0, ""
}
