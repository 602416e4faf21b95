package web

import (
	"bytes"
	"context"
	"encoding"
	"encoding/json"
	"flag"
	"fmt"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"reflect"
	"sort"
	"strings"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/foresee"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/store/sqlstore"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/csvtrace"
	"github.com/hardcatch/hardcatch/internal/view"
)

var update = flag.Bool("update", false, "write the description of the API anew")

// described is what the description says of a route of the API, and a way to ask for it.
type described struct {
	summary string
	query   map[string]string // parameter: what it is
	body    any
	answer  any
	sample  string // body of the sample request
	ask     string // path and query of the sample request
}

var trace = map[string]string{"from": "start of the stretch on the record's clock, s or with a unit; nothing is the whole record", "to": "end of the stretch", "px": "columns, 2 to 4000; each gives its least and largest value"}

var mapped = map[string]string{
	"mass": "with unit: 100 kg; left out, the rig's", "fall": "free fall of the place asked for: 0.9 m", "length": "0.9 m; left out, the most common one of the campaign", "material": "name of a starting set", "knot": "name of a knot with its material, empty = none", "rig": "stiffness: 2 MN/m", "absorber": "on = with an energy absorber",
	"x": "quantity across: fall-factor, fall-height, slack, length, mass, rig-stiffness", "x0": "from, with unit", "x1": "to, with unit", "y": "quantity up", "y0": "from", "y1": "to", "limits": "on = only the limits given", "limit": "name of a limit, may be repeated", "own": "a rating of your own: 12 kN", "ownname": "of what",
}

var comparisonQuery = map[string]string{
	"measure": "peak (when nothing is said), energy, elongation, impulse, time, duration, rise, stiffness, loss or speed", "by": "factor asked about, none = none", "along": "factor along the axis of the drawings",
	"only.FACTOR": "keeps the trial drops at this level of the factor, for example only.material=polyester", "dist": "family of the strengths: weibull, lognormal, normal or exponential", "confidence": "of the intervals, 0.95 when nothing is said",
	"quantile": "quantiles of the strengths, parted by spaces", "bootstrap": "how often the specimens are drawn again, at most 20000", "seed": "of all that is drawn", "goodness": "on = check each fit by drawing from it",
}

var descriptions = map[string]described{
	"GET /api/openapi.json":                {summary: "This description.", answer: map[string]any{}, ask: "/api/openapi.json"},
	"GET /api/head":                        {summary: "Number and hash of the last entry of the logbook.", answer: store.Head{}, ask: "/api/head"},
	"GET /api/campaign":                    {summary: "Question, counts and state of the campaign.", answer: apiCampaign{}, ask: "/api/campaign"},
	"GET /api/drops":                       {summary: "Every drop with outcome and peak.", answer: apiDropList{}, ask: "/api/drops"},
	"GET /api/drops/{id}":                  {summary: "One drop with its reduction, record and decisions.", answer: view.DropView{}, ask: "/api/drops/d02"},
	"GET /api/drops/{id}/trace":            {summary: "A stretch of the record, thinned so that no peak is lost.", query: trace, answer: look.TraceWindow{}, ask: "/api/drops/d02/trace?px=50"},
	"POST /api/drops/{id}/decisions":       {summary: "Enter a decision. Earlier ones are kept.", body: decision{}, answer: look.Receipt{}, ask: "/api/drops/d02/decisions", sample: `{"outcome":"void","reason":"the release stuck","place":"","by":"bench"}`},
	"POST /api/drops/{id}/withdraw":        {summary: "Take the last decision back by a new one.", body: takeBack{}, answer: withdrawn{}, ask: "/api/drops/d02/withdraw", sample: `{"by":"bench","reason":"the wrong drop"}`},
	"POST /api/drops/{id}/events":          {summary: "Set events by hand and reduce again; null leaves an event to the record.", body: moved{}, answer: look.Receipt{}, ask: "/api/drops/d02/events", sample: `{"taut_s":0.8,"peak_s":null,"slack_s":null,"reason":"begins earlier","by":"bench"}`},
	"POST /api/drops/{id}/events/withdraw": {summary: "Take the last move of events back.", body: who{}, answer: look.Receipt{}, ask: "/api/drops/d02/events/withdraw", sample: `{"by":"bench"}`},
	"GET /api/results":                     {summary: "Cells, contrasts, limits, audit findings.", answer: view.Results{}, ask: "/api/results"},
	"GET /api/answers":                     {summary: "Yes, no or cannot be told yet, to each question that was asked.", answer: view.Answers{}, ask: "/api/answers"},
	"GET /api/comparison":                  {summary: "What the cells say about each other: contrasts with exact tests and intervals, strengths, effects, interference, repeatability.", query: comparisonQuery, answer: view.ComparisonView{}, ask: "/api/comparison?measure=energy&only.material=polyester&dist=lognormal"},
	"GET /api/checks":                      {summary: "Check drops with their control chart, drift and the certificate of the load cell.", answer: view.ChecksView{}, ask: "/api/checks"},
	"GET /api/limits":                      {summary: "Every limit known here with its source.", answer: limitList{}, ask: "/api/limits"},
	"GET /api/whatif":                      {summary: "One fall by the model.", query: map[string]string{"mass": "with unit: 100 kg", "fall": "free fall: 0.9 m", "length": "of the specimen: 0.9 m", "material": "name of a starting set", "knot": "name of a knot with its material, empty = none", "rig": "stiffness: 2 MN/m", "absorber": "on = with an energy absorber"}, answer: foresee.WhatIfAnswer{}, ask: "/api/whatif?fall=1+m"},
	"GET /api/map":                         {summary: "The peak over two quantities of the fall, with iso-lines, limits, and the drops of the campaign against the model.", query: mapped, answer: foresee.Map{}, ask: "/api/map?x0=0.2&x1=1"},
	"GET /api/rig":                         {summary: "Rig and calibration, with the days that the certificate still holds.", answer: view.RigView{}, ask: "/api/rig"},
	"GET /api/logbook":                     {summary: "Entries of the logbook.", query: map[string]string{"after": "only entries after this number"}, answer: entryList{}, ask: "/api/logbook?after=3"},
	"GET /api/live":                        {summary: "The day at the tower: next drop, checklist, the drop taken last.", answer: day.State{}},
	"POST /api/live/check":                 {summary: "Go round the answers of a question of the checklist, or skip it with a reason.", body: order{}, answer: day.State{}},
	"POST /api/live/arm":                   {summary: "Store the checklist and wait for the trigger.", body: order{}, answer: day.State{}},
	"POST /api/live/disarm":                {summary: "Go back to the checklist.", body: order{}, answer: day.State{}},
	"POST /api/live/finish":                {summary: "End the record before its time.", body: order{}, answer: day.State{}},
	"POST /api/live/fire":                  {summary: "Trigger by hand.", body: order{}, answer: day.State{}},
	"POST /api/live/onward":                {summary: "Turn to the next drop, or leave the prepared one for later.", body: order{}, answer: day.State{}},
	"POST /api/live/withdraw":              {summary: "Take the last decision on the drop taken last back.", body: order{}, answer: day.State{}},
	"POST /api/live/assign":                {summary: "Say to which drop a found record belongs.", body: order{}, answer: day.State{}},
	"POST /api/live/decide":                {summary: "Confirm what is proposed, or decide otherwise.", body: order{}, answer: day.State{}},
	"GET /api/events":                      {summary: "Server-sent events: head (a store.Head) on each change of the logbook and at the start; with a live source live (version of the day's state) and force (least and largest over a short stretch).", ask: ""},
}

// schemas turns types into JSON schemas by the rules of encoding/json.
type schemas struct{ named map[string]any }

func (s *schemas) of(t reflect.Type) map[string]any {
	switch t {
	case reflect.TypeFor[time.Time]():
		return map[string]any{"type": "string", "format": "date-time"}
	case reflect.TypeFor[message.Sentence](), reflect.TypeFor[drop.Evidence]():
		return map[string]any{"type": "string"}
	case reflect.TypeFor[store.Hash]():
		return map[string]any{"type": "string", "pattern": "^[0-9a-f]{64}$"}
	}
	switch t.Kind() {
	case reflect.Pointer:
		e := s.of(t.Elem())
		return map[string]any{"anyOf": []any{e, map[string]any{"type": "null"}}}
	case reflect.Bool:
		return map[string]any{"type": "boolean"}
	case reflect.Int, reflect.Int64, reflect.Uint64:
		return map[string]any{"type": "integer"}
	case reflect.Float64:
		if t.Name() == "DoF" {
			return map[string]any{"anyOf": []any{map[string]any{"type": "number"}, map[string]any{"const": "inf"}}}
		}
		return map[string]any{"type": "number"}
	case reflect.Array:
		return map[string]any{"type": "array", "items": s.of(t.Elem()), "minItems": t.Len(), "maxItems": t.Len()}
	case reflect.Uint8: // kinds of evidence, by their names
		if reflect.PointerTo(t).Implements(reflect.TypeFor[encoding.TextUnmarshaler]()) {
			return map[string]any{"type": "string"}
		}
		panic("no schema for " + t.String())
	case reflect.String:
		return map[string]any{"type": "string"}
	case reflect.Interface:
		return map[string]any{}
	case reflect.Map:
		return map[string]any{"type": "object", "additionalProperties": s.of(t.Elem())}
	case reflect.Slice:
		e := s.of(t.Elem())
		if t.Name() == "Series" {
			e = map[string]any{"type": []any{"number", "null"}}
		}
		return map[string]any{"type": []any{"array", "null"}, "items": e}
	case reflect.Struct:
		return s.object(t)
	}
	panic("no schema for " + t.String())
}

func (s *schemas) object(t reflect.Type) map[string]any {
	name := t.Name()
	if p := filepath.Base(t.PkgPath()); p != "web" {
		name = p + "." + name
	}
	ref := map[string]any{"$ref": "#/components/schemas/" + name}
	if _, done := s.named[name]; done {
		return ref
	}
	s.named[name] = nil
	props, required := map[string]any{}, []any{}
	// The members of an embedded pointer are left out where it is nil.
	var walk func(t reflect.Type, always bool)
	walk = func(t reflect.Type, always bool) {
		for i := range t.NumField() {
			f := t.Field(i)
			tag, opts, _ := strings.Cut(f.Tag.Get("json"), ",")
			if f.Anonymous && tag == "" {
				if f.Type.Kind() == reflect.Pointer {
					walk(f.Type.Elem(), false)
				} else {
					walk(f.Type, always)
				}
				continue
			}
			if !f.IsExported() || tag == "-" {
				continue
			}
			props[tag] = s.of(f.Type)
			if always && !strings.Contains(opts, "omit") {
				required = append(required, tag)
			}
		}
	}
	walk(t, true)
	sort.Slice(required, func(i, j int) bool { return required[i].(string) < required[j].(string) })
	s.named[name] = map[string]any{"type": "object", "properties": props, "required": required, "additionalProperties": false}
	return ref
}

func description(t *testing.T, routes []route) []byte {
	t.Helper()
	s := &schemas{map[string]any{"Error": map[string]any{"type": "object", "properties": map[string]any{"error": map[string]any{"type": "string"}}, "required": []any{"error"}, "additionalProperties": false}}}
	paths := map[string]any{}
	for _, r := range routes {
		method, path, _ := strings.Cut(r.pattern, " ")
		if !strings.HasPrefix(path, "/api/") {
			continue
		}
		d, ok := descriptions[r.pattern]
		if !ok {
			t.Errorf("%s is not described", r.pattern)
			continue
		}
		op := map[string]any{"summary": d.summary, "operationId": strings.Trim(strings.NewReplacer("/api", "", "/", "-", "{", "", "}", "", ".", "-").Replace(path), "-") + "-" + strings.ToLower(method)}
		var params []any
		if strings.Contains(path, "{id}") {
			params = append(params, map[string]any{"name": "id", "in": "path", "required": true, "description": "drop", "schema": map[string]any{"type": "string"}})
		}
		var names []string
		for n := range d.query {
			names = append(names, n)
		}
		sort.Strings(names)
		for _, n := range names {
			params = append(params, map[string]any{"name": n, "in": "query", "description": d.query[n], "schema": map[string]any{"type": "string"}})
		}
		if params != nil {
			op["parameters"] = params
		}
		if d.body != nil {
			op["requestBody"] = map[string]any{"required": true, "content": map[string]any{"application/json": map[string]any{"schema": loose(s, reflect.TypeOf(d.body))}}}
		}
		good := map[string]any{"description": "done", "content": map[string]any{"text/event-stream": map[string]any{"schema": map[string]any{"type": "string"}}}}
		if d.answer != nil {
			good["content"] = map[string]any{"application/json": map[string]any{"schema": s.of(reflect.TypeOf(d.answer))}}
		}
		bad := map[string]any{"description": "what went wrong, in a sentence", "content": map[string]any{"application/json": map[string]any{"schema": map[string]any{"$ref": "#/components/schemas/Error"}}}}
		op["responses"] = map[string]any{"200": good, "4XX": bad, "5XX": bad}
		at, _ := paths[path].(map[string]any)
		if at == nil {
			at = map[string]any{}
			paths[path] = at
		}
		at[strings.ToLower(method)] = op
	}
	doc := map[string]any{
		"openapi": "3.1.0",
		"info": map[string]any{"title": "Hardcatch", "version": "1", "license": map[string]any{"name": "Apache-2.0", "identifier": "Apache-2.0"},
			"description": "One campaign. Numbers are in the SI unit that ends each name. Results are for a rigid mass on the stated rig; they are no injury thresholds and no certification test. Requests of other sites' pages are refused."},
		"paths": paths, "components": map[string]any{"schemas": s.named},
	}
	b, err := json.MarshalIndent(doc, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return append(b, '\n')
}

// loose is a body's schema, in which every member may be left out.
func loose(s *schemas, t reflect.Type) map[string]any {
	s.object(t)
	o := s.named[t.Name()].(map[string]any)
	delete(s.named, t.Name())
	delete(o, "required")
	return o
}

func apiServer(t *testing.T) (*Server, *httptest.Server) {
	t.Helper()
	formats := traceio.NewRegistry()
	formats.Register(csvtrace.Format{})
	formats.Register(csvtrace.First())
	a := &look.Access{Files: sqlstore.Files{}, Formats: formats, Now: time.Now, Version: "test"}
	path := filepath.Join(t.TempDir(), "demo.hardcatch")
	if _, err := app.Demo(context.Background(), a, path); err != nil {
		t.Fatal(err)
	}
	s, err := a.Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	srv, err := New(a, s, Options{})
	if err != nil {
		t.Fatal(err)
	}
	h := httptest.NewServer(srv.Handler())
	t.Cleanup(func() {
		h.Close()
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return srv, h
}

// The description is that of the routes and types, and every route answers as it says.
func TestDescriptionOfTheAPI(t *testing.T) {
	srv, h := apiServer(t)
	want := description(t, srv.routes())
	if *update {
		if err := os.WriteFile("openapi.json", want, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if !bytes.Equal(want, openAPI) {
		t.Error("openapi.json is not that of the routes and types; run go test ./internal/web -run DescriptionOfTheAPI -update and read the diff")
	}
	var doc map[string]any
	if err := json.Unmarshal(openAPI, &doc); err != nil {
		t.Fatal(err)
	}
	known := map[string]bool{}
	for _, r := range srv.routes() {
		known[r.pattern] = true
		d, ok := descriptions[r.pattern]
		if !ok || d.ask == "" {
			continue
		}
		method, path, _ := strings.Cut(r.pattern, " ")
		req, err := http.NewRequestWithContext(context.Background(), method, h.URL+d.ask, strings.NewReader(d.sample))
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Content-Type", "application/json")
		res, err := http.DefaultClient.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		var got any
		err = json.NewDecoder(res.Body).Decode(&got)
		if cerr := res.Body.Close(); err != nil || cerr != nil || res.StatusCode != 200 || res.Header.Get("Content-Type") != "application/json" {
			t.Errorf("%s: %d %v %v", r.pattern, res.StatusCode, got, err)
			continue
		}
		schema := at(doc, "paths", path, strings.ToLower(method), "responses", "200", "content", "application/json", "schema")
		for _, fault := range mismatch(doc, schema, got, "answer") {
			t.Errorf("%s: %s", r.pattern, fault)
		}
	}
	for p := range doc["paths"].(map[string]any) {
		for m := range at(doc, "paths", p).(map[string]any) {
			if !known[strings.ToUpper(m)+" "+p] {
				t.Errorf("%s %s is described and not answered", m, p)
			}
		}
	}
	res, err := http.Get(h.URL + "/api/drops/nowhere")
	if err != nil {
		t.Fatal(err)
	}
	var e apiError
	if err := json.NewDecoder(res.Body).Decode(&e); err != nil || res.StatusCode != 404 || e.Error == "" {
		t.Errorf("%d %+v %v", res.StatusCode, e, err)
	}
	if err := res.Body.Close(); err != nil {
		t.Error(err)
	}
}

func at(v any, path ...string) any {
	for _, p := range path {
		m, _ := v.(map[string]any)
		v = m[p]
	}
	return v
}

// mismatch holds a value against a schema of the kinds made above.
func mismatch(doc, schema, v any, place string) []string {
	s, ok := schema.(map[string]any)
	if !ok {
		return []string{place + ": there is no schema"}
	}
	if ref, ok := s["$ref"].(string); ok {
		return mismatch(doc, at(doc, strings.Split(ref[2:], "/")...), v, place)
	}
	if any, ok := s["anyOf"].([]any); ok {
		var all []string
		for _, one := range any {
			faults := mismatch(doc, one, v, place)
			if len(faults) == 0 {
				return nil
			}
			all = append(all, faults...)
		}
		return all
	}
	if c, ok := s["const"]; ok {
		if c != v {
			return []string{fmt.Sprintf("%s: %v is not %v", place, v, c)}
		}
		return nil
	}
	if want, ok := s["type"]; ok && !fits(want, v) {
		return []string{fmt.Sprintf("%s: %T is not %v", place, v, want)}
	}
	var out []string
	switch v := v.(type) {
	case []any:
		for i, e := range v {
			out = append(out, mismatch(doc, s["items"], e, fmt.Sprintf("%s[%d]", place, i))...)
		}
	case map[string]any:
		props, _ := s["properties"].(map[string]any)
		for k, e := range v {
			switch {
			case props[k] != nil:
				out = append(out, mismatch(doc, props[k], e, place+"."+k)...)
			case s["additionalProperties"] == false:
				out = append(out, place+"."+k+" is not described")
			}
		}
		req, _ := s["required"].([]any)
		for _, k := range req {
			if _, ok := v[k.(string)]; !ok {
				out = append(out, place+" lacks "+k.(string))
			}
		}
	}
	return out
}

func fits(want, v any) bool {
	if list, ok := want.([]any); ok {
		for _, w := range list {
			if fits(w, v) {
				return true
			}
		}
		return false
	}
	switch v := v.(type) {
	case nil:
		return want == "null"
	case bool:
		return want == "boolean"
	case string:
		return want == "string"
	case float64:
		return want == "number" || want == "integer" && v == float64(int64(v))
	case []any:
		return want == "array"
	case map[string]any:
		return want == "object"
	}
	return false
}

// The validator must be able to fail.
func TestMismatchNotices(t *testing.T) {
	schema := map[string]any{"type": "object", "properties": map[string]any{"a": map[string]any{"type": "integer"}}, "required": []any{"a"}, "additionalProperties": false}
	for _, v := range []any{map[string]any{}, map[string]any{"a": "x"}, map[string]any{"a": 1.5}, map[string]any{"a": 1.0, "b": 2.0}, "a", nil} {
		if len(mismatch(nil, schema, v, "v")) == 0 {
			t.Errorf("%v passes", v)
		}
	}
	if f := mismatch(nil, schema, map[string]any{"a": 1.0}, "v"); len(f) > 0 {
		t.Error(f)
	}
}

// A page that does not keep up never holds up the others, and gets what is latest.
func TestHubDropsTheOldest(t *testing.T) {
	h := newHub()
	slow := h.join()
	for i := range 3 * backlog {
		h.publish("n", i)
	}
	n, last := len(slow), ""
	for range n {
		last = string((<-slow).data)
	}
	if n > backlog || last != fmt.Sprint(3*backlog-1) {
		t.Errorf("%d waiting, the last is %s", n, last)
	}
	for range maxListeners {
		h.join()
	}
	if h.join() != nil {
		t.Error("more listen than may")
	}
	h.leave(slow)
	if h.join() == nil {
		t.Error("a place is not given back")
	}
	h.close()
	if h.join() != nil {
		t.Error("somebody joins what is over")
	}
}

func TestAddressedNeedsItsConnection(t *testing.T) {
	s := &Server{names: map[string]bool{}}
	r := httptest.NewRequest("GET", "http://localhost:80/", nil)
	if s.addressed(r) {
		t.Error("a request of no connection is answered")
	}
	for _, c := range []struct {
		local, host string
		want        bool
	}{
		{"[::1]:80", "[::1]:80", true}, {"[::1]:80", "[::1]", true}, {"[::1]:80", "localhost", true}, {"10.0.0.5:8080", "10.0.0.5:8080", true},
		{"10.0.0.5:8080", "localhost:8080", false}, {"10.0.0.5:8080", "10.0.0.6:8080", false}, {"127.0.0.1:80", "127.0.0.1.", false}, {"127.0.0.1:80", "", false}, {"127.0.0.1:80", "127.0.0.1:080x", false},
	} {
		a, err := net.ResolveTCPAddr("tcp", c.local)
		if err != nil {
			t.Fatal(err)
		}
		r := httptest.NewRequest("GET", "/", nil)
		r = r.WithContext(context.WithValue(r.Context(), http.LocalAddrContextKey, net.Addr(a)))
		r.Host = c.host
		if got := s.addressed(r); got != c.want {
			t.Errorf("%s at %s: %v", c.host, c.local, got)
		}
	}
}
