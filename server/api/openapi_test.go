package api

import (
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// description is the part of openapi.json that is compared, named as in the "OpenAPI
// Specification", version 3.1.0, 2021.
type description struct {
	OpenAPI    string                          `json:"openapi"`
	Paths      map[string]map[string]operation `json:"paths"`
	Components struct {
		Schemas         map[string]schema         `json:"schemas"`
		SecuritySchemes map[string]map[string]any `json:"securitySchemes"`
	} `json:"components"`
}

type operation struct {
	Security    []map[string][]string `json:"security"`
	RequestBody *struct {
		Content map[string]struct{ Schema schema } `json:"content"`
	} `json:"requestBody"`
	Responses map[string]struct {
		Content map[string]struct{ Schema schema } `json:"content"`
	} `json:"responses"`
}

// schema is the part of JSON Schema, draft 2020-12, that the description uses.
type schema struct {
	Ref        string            `json:"$ref"`
	Type       string            `json:"type"`
	Pattern    string            `json:"pattern"`
	Enum       []any             `json:"enum"`
	Const      any               `json:"const"`
	Properties map[string]schema `json:"properties"`
	Required   []string          `json:"required"`
	Items      *schema           `json:"items"`
	AllOf      []schema          `json:"allOf"`
}

func described(t *testing.T) description {
	t.Helper()
	text, err := os.ReadFile("openapi.json")
	if err != nil {
		t.Fatal(err)
	}
	var d description
	if err := json.Unmarshal(text, &d); err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(d.OpenAPI, "3.1.") {
		t.Errorf("version %q, want 3.1", d.OpenAPI)
	}
	return d
}

// TestOpenAPI_Routes: every route is described, and nothing else is: proof, body and all.
func TestOpenAPI_Routes(t *testing.T) {
	d := described(t)
	h := build(t, "")
	count := 0
	for _, row := range h.server.routes() {
		op, found := d.Paths[row.path][strings.ToLower(row.method)]
		if !found {
			t.Errorf("%s %s is not described", row.method, row.path)
			continue
		}
		var proofs []string
		for _, s := range op.Security {
			for name := range s {
				proofs = append(proofs, name)
			}
		}
		want := []string{string(row.proof)}
		if row.proof == open || row.proof == ticket {
			want = nil // a ticket comes after the request, as a message
		}
		if !slices.Equal(proofs, want) {
			t.Errorf("%s asks for %v, described as %v", row.path, want, proofs)
		}
		body := ""
		if op.RequestBody != nil {
			for mediaType := range op.RequestBody.Content {
				body = mediaType
			}
		}
		if body != row.body {
			t.Errorf("%s takes %q, described as %q", row.path, row.body, body)
		}
		if _, says401 := op.Responses["401"]; says401 != (want != nil) {
			t.Errorf("%s: 401 described %v", row.path, says401)
		}
		if _, says503 := op.Responses["503"]; !says503 && row.method == http.MethodPost {
			t.Errorf("%s: it is not described that it may be busy", row.path)
		}
	}
	for _, methods := range d.Paths {
		count += len(methods)
	}
	if count != len(h.server.routes()) {
		t.Errorf("%d operations are described, there are %d routes", count, len(h.server.routes()))
	}
}

// TestOpenAPI_Answers: what is answered is as described, good answers and problems.
func TestOpenAPI_Answers(t *testing.T) {
	d := described(t)
	h := build(t, "")
	code, _, err := h.server.Desk().SetUp(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	check := func(method, path string, a answer) answer {
		t.Helper()
		d.check(t, method, path, a)
		return a
	}
	post := func(path string, v any, header ...string) answer {
		t.Helper()
		return check("POST", path, h.post(path, v, header...))
	}
	for _, path := range []string{"/livez", "/readyz"} {
		check("GET", path, h.ask(http.MethodGet, path, nil))
	}
	post("/api/join/look", object{"code": code.String()})
	post("/api/join/look", object{"code": "nonsense"})
	join := object{"code": code.String(), "device": clock.Device(1).String(), "name": "",
		"practice": "Example Practice"}
	post("/api/join", join)
	join["name"] = "Robin Example"
	p := h.phone(post("/api/join", join), 1)
	p.take(post("/api/token", object{}, "Cookie", p.cookie))
	post("/api/token", object{})
	invited := post("/api/invitations", object{"role": "coach", "name": "Kim"},
		"Authorization", p.bearer())
	post("/api/invitations", object{"role": "queen"}, "Authorization", p.bearer())
	post("/api/join/look", object{"code": invited.json(t)["code"]})
	knock := object{"code": invited.json(t)["code"], "device": clock.Device(5).String()}
	post("/api/join", knock)
	waiting := post("/api/knocks", nil, "Authorization", p.bearer()).json(t)["knocks"].([]any)
	no := object{"id": waiting[0].(map[string]any)["id"], "let": false}
	post("/api/knocks/answer", object{"id": "?"}, "Authorization", p.bearer())
	post("/api/knocks/answer", object{"id": "?", "let": true}, "Authorization", p.bearer())
	post("/api/knocks/answer", no, "Authorization", p.bearer())
	post("/api/knocks/answer", no, "Authorization", p.bearer())
	post("/api/join", knock)
	post("/api/ticket", object{}, "Authorization", p.bearer())
	post("/api/device", object{"device": clock.Device(1).String()}, "Authorization", p.bearer())
	post("/api/device", object{"device": clock.Device(3).String()},
		"Authorization", p.bearer())
	post("/api/people", object{}, "Authorization", p.bearer())
	post("/api/people", object{"doc": "?"}, "Authorization", p.bearer())
	post("/api/people/role", object{"person": "x", "role": "coach"}, "Authorization", p.bearer())
	post("/api/people/out", object{"person": "x"}, "Authorization", p.bearer())
	post("/api/sharing", object{"doc": clock.Device(1).String() + "-1"}, "Authorization", p.bearer())
	post("/api/sharing", object{"doc": record.ID{Device: 1, Seq: 1}.String()},
		"Authorization", p.bearer())
	post("/api/sharing/set", object{"doc": "x"}, "Authorization", p.bearer())
	post("/api/phones/out", object{"device": "x"}, "Authorization", p.bearer())
	_, synced := p.send(p.Request(h.read().UnixMilli(), limits))
	check("POST", "/api/sync", synced)
	check("POST", "/api/sync", h.ask("POST", "/api/sync", []byte("?"), "Content-Type", typeSync,
		"Authorization", p.bearer()))
	post("/api/forget", object{}, "Authorization", p.bearer())
}

// check compares an answer to what is described for its route and status.
func (d description) check(t *testing.T, method, path string, a answer) {
	t.Helper()
	responses := d.Paths[path][strings.ToLower(method)].Responses
	described, found := responses[fmt.Sprint(a.status)]
	if !found {
		t.Errorf("%s %s: %d is not described", method, path, a.status)
		return
	}
	if len(a.body) == 0 && len(described.Content) == 0 {
		return
	}
	content, found := described.Content[a.header.Get("Content-Type")]
	if !found {
		t.Errorf("%s %s: type %q is not described", method, path, a.header.Get("Content-Type"))
		return
	}
	if !strings.Contains(a.header.Get("Content-Type"), "json") {
		return
	}
	var v any
	if err := json.Unmarshal(a.body, &v); err != nil {
		t.Fatal(err)
	}
	for _, fault := range d.faults(content.Schema, v, "") {
		t.Errorf("%s %s: %s in %s", method, path, fault, a.body)
	}
}

// faults lists where v is not as s says; a member that s does not know is one too.
func (d description) faults(s schema, v any, at string) []string {
	if s.Ref != "" {
		return d.faults(d.Components.Schemas[strings.TrimPrefix(s.Ref, "#/components/schemas/")], v, at)
	}
	if len(s.AllOf) > 0 {
		s = d.joined(s)
	}
	var faults []string
	fault := func(format string, args ...any) {
		faults = append(faults, at+": "+fmt.Sprintf(format, args...))
	}
	if s.Enum != nil && !slices.Contains(s.Enum, v) || s.Const != nil && s.Const != v {
		fault("%v is not among the values", v)
	}
	switch v := v.(type) {
	case string:
		if s.Type != "" && s.Type != "string" || !regexp.MustCompile(s.Pattern).MatchString(v) {
			fault("%q is not a %s like %s", v, s.Type, s.Pattern)
		}
	case bool:
		if s.Type != "boolean" {
			fault("%v is not a %s", v, s.Type)
		}
	case float64:
		if s.Type != "integer" || v != float64(int64(v)) {
			fault("%v is not a %s", v, s.Type)
		}
	case []any:
		if s.Type != "array" || s.Items == nil {
			fault("a list is not a %s", s.Type)
			break
		}
		for i, item := range v {
			faults = append(faults, d.faults(*s.Items, item, fmt.Sprint(at, "/", i))...)
		}
	case map[string]any:
		for _, name := range s.Required {
			if _, found := v[name]; !found {
				fault("%s is missing", name)
			}
		}
		for name, member := range v {
			property, found := s.Properties[name]
			if !found {
				fault("%s is not described", name)
				continue
			}
			faults = append(faults, d.faults(property, member, at+"/"+name)...)
		}
	default:
		fault("%v is of no described type", v)
	}
	return faults
}

// joined returns the members of all parts of an allOf as one schema.
func (d description) joined(s schema) schema {
	all := schema{Type: "object", Properties: map[string]schema{}}
	for _, part := range s.AllOf {
		if part.Ref != "" {
			part = d.Components.Schemas[strings.TrimPrefix(part.Ref, "#/components/schemas/")]
		}
		if part.Type != "object" {
			return part
		}
		all.Required = append(all.Required, part.Required...)
		for name, property := range part.Properties {
			all.Properties[name] = property
		}
	}
	return all
}
