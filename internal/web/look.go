package web

import (
	"net/http"
	"net/url"
	"strings"

	"github.com/hardcatch/hardcatch/internal/message"
)

// What a reader chooses is kept in the browser for a year.
const (
	langCookie  = "hardcatch-language"
	themeCookie = "hardcatch-theme"
	keysCookie  = "hardcatch-keys"
)

// themes: "auto" follows the system; "sun" is for bright light.
var themes = []string{"auto", "light", "dark", "sun"}

func oneOf(list []string, v string) bool {
	for _, k := range list {
		if k == v {
			return true
		}
	}
	return false
}

func themeOf(r *http.Request) string {
	if c, err := r.Cookie(themeCookie); err == nil && oneOf(themes, c.Value) {
		return c.Value
	}
	return "auto"
}

// keysOf tells that single keys do things; a reader who speaks or has a shaky hand turns them off.
func keysOf(r *http.Request) bool {
	c, err := r.Cookie(keysCookie)
	return err != nil || c.Value != "off"
}

// setLook keeps theme, language or keys, and goes back to the page.
func (s *Server) setLook(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return err
	}
	for name, allowed := range map[string][]string{"theme": themes, "language": message.Languages, "keys": {"on", "off"}} {
		v := r.PostForm.Get(name)
		if v == "" {
			continue
		}
		if !oneOf(allowed, v) {
			return problem{http.StatusUnprocessableEntity, name + " " + v + " is not known; choose one of " + strings.Join(allowed, ", ")}
		}
		http.SetCookie(w, &http.Cookie{Name: map[string]string{"theme": themeCookie, "language": langCookie, "keys": keysCookie}[name], Value: v, Path: "/", MaxAge: 365 * 24 * 3600, HttpOnly: true, SameSite: http.SameSiteStrictMode})
	}
	http.Redirect(w, r, ownPath(r.PostForm.Get("back")), http.StatusSeeOther)
	return nil
}

// ownPath is a path of this server, never another site's address.
func ownPath(back string) string {
	u, err := url.Parse(back)
	if err != nil || u.Scheme != "" || u.Host != "" || !strings.HasPrefix(back, "/") || strings.HasPrefix(back, "//") || strings.ContainsAny(back, "\\\r\n") {
		return "/"
	}
	return u.RequestURI()
}
