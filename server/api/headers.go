package api

import (
	"net/http"
	"strings"
)

// policy lets the app load only its own files and compile its WebAssembly, which
// "default-src 'self'" would forbid in page and worker alike (Content Security
// Policy Level 3, W3C).
const policy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; worker-src 'self';" +
	" connect-src 'self'; img-src 'self' blob: data:; font-src 'self'; style-src 'self';" +
	" manifest-src 'self'; base-uri 'none'; object-src 'none'; form-action 'self';" +
	" frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types evenhold"

const permissions = "screen-wake-lock=(self), accelerometer=(), camera=(), geolocation=()," +
	" gyroscope=(), magnetometer=(), microphone=(), midi=(), payment=(), usb=()"

// withHeaders puts the headers that every answer carries; workers need them as
// much as pages. Strict transport (RFC 6797, 2012) is for a public certificate that
// this server holds itself: where a proxy holds it, the proxy says so, and on a
// local name whose authority may be made anew it would lock phones out.
func withHeaders(next http.Handler, strict bool) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("Permissions-Policy", permissions)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		if strict {
			h.Set("Strict-Transport-Security", "max-age=31536000")
		}
		if isInterface(r.URL.Path) {
			h.Set("Cache-Control", "no-store")
		}
		next.ServeHTTP(w, r)
	})
}

func isInterface(path string) bool {
	return strings.HasPrefix(path, "/api/") || path == "/livez" || path == "/readyz"
}
