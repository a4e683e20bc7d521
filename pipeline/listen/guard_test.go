package listen_test

import (
	"bufio"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A reply is what a request written byte by byte gets: a client would clean it up.
func (s *scene) raw(t *testing.T, request string) (*http.Response, string) {
	t.Helper()
	c, err := net.Dial("tcp", s.host)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	if _, err := io.WriteString(c, request); err != nil {
		t.Fatal(err)
	}
	r, err := http.ReadResponse(bufio.NewReader(c), nil)
	if err != nil {
		t.Fatalf("%q: %v", request, err)
	}
	body, _ := io.ReadAll(r.Body)
	return r, string(body)
}

// ask is a request with more header lines, each "\r\nName: value".
func (s *scene) ask(method, path, more, body string) string {
	if body != "" {
		more += fmt.Sprintf("\r\nContent-Length: %d", len(body))
	}
	host := "\r\nHost: " + s.host
	if strings.Contains(more, "\r\nHost:") {
		host = ""
	}
	return method + " " + path + " HTTP/1.1" + host + more + "\r\nConnection: close\r\n\r\n" + body
}

func (s *scene) path() string { return strings.TrimPrefix(s.url, "http://"+s.host) }

// The address that is printed answers itself, for a browser that was given it and for what tells nothing of
// where it comes from.
func TestTheAddressAnswers(t *testing.T) {
	s := serve(t)
	for _, more := range []string{
		"", "\r\nSec-Fetch-Site: none", "\r\nSec-Fetch-Site: same-origin", "\r\nOrigin: http://" + s.host,
	} {
		r, body := s.raw(t, s.ask("GET", s.path(), more, ""))
		if r.StatusCode != 200 || !strings.Contains(body, "Start low.") {
			t.Errorf("%q: %s", more, r.Status)
		}
		for name, want := range map[string]string{
			"Cross-Origin-Opener-Policy": "same-origin", "Cross-Origin-Embedder-Policy": "require-corp",
			"Cross-Origin-Resource-Policy": "same-origin",
			"X-Content-Type-Options":       "nosniff", "Referrer-Policy": "no-referrer", "Cache-Control": "no-store",
		} {
			if got := r.Header.Get(name); got != want {
				t.Errorf("%s: %q", name, got)
			}
		}
		csp := r.Header.Get("Content-Security-Policy")
		if !strings.HasPrefix(csp, "default-src 'none'; ") || strings.Contains(csp, "unsafe") ||
			!strings.Contains(csp, "frame-ancestors 'none'") {
			t.Errorf("policy %q", csp)
		}
	}
	if !strings.HasPrefix(s.host, "127.0.0.1:") {
		t.Errorf("it listens at %s", s.host)
	}
}

func TestHostileRequestsAreRefused(t *testing.T) {
	s := serve(t)
	if err := os.WriteFile(filepath.Join(s.folder, "secret.txt"), []byte("a secret"), 0o666); err != nil {
		t.Fatal(err)
	}
	p, origin := s.path(), "\r\nOrigin: http://"+s.host
	_, port, _ := net.SplitHostPort(s.host)
	const begin = `{"do":"begin","room":1,"kind":"abx","trials":3,"sources":[0,1]}`
	const asJSON = "\r\nContent-Type: application/json"
	long := `{"do":"begin","room":1,"kind":"` + strings.Repeat("x", 5000) + `"}`
	token := strings.Trim(p, "/")
	for _, c := range []struct {
		what, request string
		status        int
	}{
		{"another host", s.ask("GET", p, "\r\nHost: example.org", ""), 421},
		{"a name that leads here", s.ask("GET", p, "\r\nHost: localhost:"+port, ""), 421},
		{"no port", s.ask("GET", p, "\r\nHost: 127.0.0.1", ""), 421},
		{"another host in the line", s.ask("GET", "http://example.org"+p, "", ""), 421},
		{"no token", s.ask("GET", "/", "", ""), 404},
		{"no token", s.ask("GET", "/release.json", "", ""), 404},
		{"another token", s.ask("GET", "/AAAAAAAAAAAAAAAAAAAAAA/", "", ""), 404},
		{"half a token", s.ask("GET", p[:12]+"/", "", ""), 404},
		{"token without slash", s.ask("GET", "/"+token, "", ""), 404},
		{"longer token", s.ask("GET", "/"+token+"A/", "", ""), 404},
		{"foreign origin", s.ask("GET", p, "\r\nOrigin: http://example.org", ""), 403},
		{"origin null", s.ask("GET", p, "\r\nOrigin: null", ""), 403},
		{"another port's origin", s.ask("GET", p, "\r\nOrigin: http://127.0.0.1:1", ""), 403},
		{"two origins", s.ask("GET", p, origin+"\r\nOrigin: http://example.org", ""), 403},
		{"another site", s.ask("GET", p, "\r\nSec-Fetch-Site: cross-site", ""), 403},
		{"another port", s.ask("GET", p, "\r\nSec-Fetch-Site: same-site", ""), 403},
		{"two sites", s.ask("GET", p, "\r\nSec-Fetch-Site: none\r\nSec-Fetch-Site: cross-site", ""), 403},
		{"up", s.ask("GET", p+"../release.toml", "", ""), 400},
		{"up before the token", s.ask("GET", "/.."+p, "", ""), 400},
		{"up in signs", s.ask("GET", p+"%2e%2e/secret.txt", "", ""), 400},
		{"slash in signs", s.ask("GET", p+"track%2f0", "", ""), 400},
		{"backslash", s.ask("GET", p+`..\secret.txt`, "", ""), 400},
		{"zero byte", s.ask("GET", p+"%00", "", ""), 400},
		{"two slashes", s.ask("GET", p+"/track/1/0", "", ""), 400},
		{"query", s.ask("GET", p+"?file=secret.txt", "", ""), 400},
		{"file's name", s.ask("GET", p+"secret.txt", "", ""), 404},
		{"absolute", s.ask("GET", p+"etc/passwd", "", ""), 404},
		{"source", s.ask("GET", p+"server.go", "", ""), 404},
		{"range", s.ask("GET", p, "\r\nRange: bytes=0-99999999999999999999", ""), 416},
		{"many ranges", s.ask("GET", p+"block/1/0/0", "\r\nRange: bytes=0-1,0-1,0-1,0-1,0-1", ""), 416},
		{"block beyond the end", s.ask("GET", p+"block/1/0/33", "", ""), 404},
		{"huge block", s.ask("GET", p+"block/1/0/9223372036854775807", "", ""), 404},
		{"larger than any number", s.ask("GET", p+"block/1/0/99999999999999999999", "", ""), 404},
		{"negative block", s.ask("GET", p+"block/1/0/-1", "", ""), 404},
		{"no number", s.ask("GET", p+"block/1/0/0x1", "", ""), 404},
		{"leading zero", s.ask("GET", p+"block/1/0/01", "", ""), 404},
		{"no such track", s.ask("GET", p+"track/1/2", "", ""), 404},
		{"no trial", s.ask("GET", p+"trial/x/1/0", "", ""), 409},
		{"HEAD", s.ask("HEAD", p, "", ""), 405},
		{"PUT", s.ask("PUT", p, origin, "x"), 405},
		{"DELETE", s.ask("DELETE", p, origin, ""), 405},
		{"OPTIONS", s.ask("OPTIONS", p, origin, ""), 405},
		{"OPTIONS of all", s.ask("OPTIONS", "*", origin, ""), 405},
		{"CONNECT", "CONNECT " + s.host + " HTTP/1.1\r\nHost: " + s.host + "\r\nConnection: close\r\n\r\n", 405},
		{"POST elsewhere", s.ask("POST", p+"block/1/0/0", origin+asJSON, begin), 405},
		{"POST to the page", s.ask("POST", p, origin+asJSON, begin), 405},
		{"POST without origin", s.ask("POST", p+"trial", asJSON, begin), 403},
		{"POST from elsewhere", s.ask("POST", p+"trial", "\r\nOrigin: http://example.org"+asJSON, begin), 403},
		{"POST as a form can", s.ask("POST", p+"trial", origin+"\r\nContent-Type: text/plain", begin), 415},
		{"POST too long", s.ask("POST", p+"trial", origin+asJSON, long), 400},
		{"POST two", s.ask("POST", p+"trial", origin+asJSON, begin+begin), 400},
		{"POST unknown key", s.ask("POST", p+"trial", origin+asJSON, `{"do":"begin","file":"/etc/passwd"}`), 400},
		{
			"POST to no session", s.ask("POST", p+"trial", origin+asJSON, `{"do":"answer","trial":1,"choice":"A"}`),
			409,
		},
		{
			"POST huge",
			s.ask("POST", p+"trial", origin+asJSON,
				`{"do":"begin","room":1,"kind":"abx","trials":1000000000,"sources":[0,1]}`), 422,
		},
	} {
		r, body := s.raw(t, c.request)
		if r.StatusCode != c.status {
			t.Errorf("%s: %s, want %d", c.what, r.Status, c.status)
		}
		if strings.Contains(body, "secret") && !strings.Contains(c.request, "secret") ||
			strings.Contains(body, "a secret") || strings.Contains(body, "root:") {
			t.Errorf("%s: it tells %q", c.what, body)
		}
	}
	if names, _ := filepath.Glob(filepath.Join(s.folder, "listening", "*")); len(names) > 0 {
		t.Errorf("it wrote %q", names)
	}
	if r, _ := s.raw(t, s.ask("POST", p+"trial", origin+asJSON, begin)); r.StatusCode != 200 {
		t.Errorf("the page's own POST: %s", r.Status)
	}
}
