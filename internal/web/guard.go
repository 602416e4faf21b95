package web

import (
	"net"
	"net/http"
	"net/netip"
	"strings"
)

// policy lets a page use nothing but what this server sends.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// guard refuses requests under a foreign name (a name rebound to this address), and requests that another site's
// page makes, for reading as well as for changing. It sets the headers that keep a browser from doing more with
// an answer than showing it.
func (s *Server) guard(next http.Handler) http.Handler {
	cross := http.NewCrossOriginProtection()
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=(), payment=(), usb=()")
		h.Set("Cache-Control", "private, no-cache")
		if !s.addressed(r) {
			refuse(w, http.StatusMisdirectedRequest, "this program does not answer under the name "+r.Host+"; open the address that it printed")
			return
		}
		if foreign(r) {
			refuse(w, http.StatusForbidden, "another site asked for this, which is refused; type the address into the browser's address line")
			return
		}
		if err := cross.Check(r); err != nil {
			refuse(w, http.StatusForbidden, "another site asked for a change, which is refused: "+err.Error())
			return
		}
		next.ServeHTTP(w, r)
	})
}

func refuse(w http.ResponseWriter, status int, text string) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.WriteHeader(status)
	// The client has gone when this fails.
	_, _ = w.Write([]byte(text + "\n"))
}

// addressed tells that the Host header names the very address that the connection came in at, localhost for a
// loopback one, or a name that the user allowed; always with the right port.
func (s *Server) addressed(r *http.Request) bool {
	local, ok := r.Context().Value(http.LocalAddrContextKey).(net.Addr)
	if !ok {
		return false
	}
	at, err := netip.ParseAddrPort(local.String())
	if err != nil {
		return false
	}
	host, port, err := net.SplitHostPort(r.Host)
	if err != nil {
		host, port = strings.Trim(r.Host, "[]"), "80"
	}
	if p, err := netip.ParseAddrPort("0.0.0.0:" + port); err != nil || p.Port() != at.Port() {
		return false
	}
	if ip, err := netip.ParseAddr(host); err == nil {
		return ip.Unmap() == at.Addr().Unmap()
	}
	host = strings.ToLower(host)
	return host == "localhost" && at.Addr().Unmap().IsLoopback() || s.names[host]
}

// foreign tells that a page of another origin made the request. Browsers say so in Sec-Fetch-Site, older ones in
// Origin. A page on another port of this machine is foreign too.
func foreign(r *http.Request) bool {
	switch r.Header.Get("Sec-Fetch-Site") {
	case "", "none", "same-origin":
	default:
		return true
	}
	o := r.Header.Get("Origin")
	return o != "" && o != "http://"+r.Host
}
