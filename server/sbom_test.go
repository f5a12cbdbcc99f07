package main

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/CycloneDX/cyclonedx-go"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

// bomSchema is the official JSON schema of CycloneDX 1.6 (ECMA-424, 1st edition, 2024), out of
// the project's own module.
func bomSchema(t *testing.T) *jsonschema.Schema {
	t.Helper()
	out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}",
		"github.com/CycloneDX/cyclonedx-go").Output()
	if err != nil {
		t.Fatal(err)
	}
	compiler := jsonschema.NewCompiler()
	for id, file := range map[string]string{"bom-1.6.schema.json": "bom-1.6.schema.json",
		"spdx.schema.json": "spdx.schema.json", "jsf-0.82.schema.json": "jsf-0.82.schemax.json"} {
		text, err := os.Open(filepath.Join(strings.TrimSpace(string(out)), "schema", file))
		if err != nil {
			t.Fatal(err)
		}
		schema, err := jsonschema.UnmarshalJSON(text)
		if err != nil {
			t.Fatal(err)
		}
		_ = text.Close() // read only
		if err := compiler.AddResource("http://cyclonedx.org/schema/"+id, schema); err != nil {
			t.Fatal(err)
		}
	}
	schema, err := compiler.Compile("http://cyclonedx.org/schema/bom-1.6.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	return schema
}

// TestSBOM: the built program lists its parts as CycloneDX's own schema and reader want it, with
// each npm package that the app names, the modules that go version -m finds, and SQLite.
func TestSBOM(t *testing.T) {
	program := filepath.Join(t.TempDir(), "evenhold")
	if text, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	list, err := exec.Command(program, "version", "--sbom").Output()
	if err != nil {
		t.Fatal(err)
	}
	schema := bomSchema(t)
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(list))
	if err != nil {
		t.Fatal(err)
	}
	if err := schema.Validate(value); err != nil {
		t.Error(err)
	}
	spoilt := bytes.Replace(list, []byte(`"library"`), []byte(`"part"`), 1)
	value, err = jsonschema.UnmarshalJSON(bytes.NewReader(spoilt))
	if err != nil || schema.Validate(value) == nil {
		t.Error("the schema takes anything:", err)
	}
	var read cyclonedx.BOM
	reader := cyclonedx.NewBOMDecoder(bytes.NewReader(list), cyclonedx.BOMFileFormatJSON)
	if err := reader.Decode(&read); err != nil {
		t.Fatal(err)
	}
	got := map[string]string{} // version by package URL without it
	for _, c := range *read.Components {
		name, _, _ := strings.Cut(c.PackageURL, "@")
		got[name] = c.Version
	}
	for name, version := range wantParts(t, program) {
		if got[name] != version {
			t.Errorf("%s is listed as %q, want %q", name, got[name], version)
		}
		delete(got, name)
	}
	for name := range got { // what the app's packages need in their turn
		if !strings.HasPrefix(name, "pkg:npm/") {
			t.Errorf("%s is listed, and is no part", name)
		}
	}
}

// wantParts returns versions by package URL: go version -m tells the modules, package.json the
// packages of the app, and SQLite's source its version.
func wantParts(t *testing.T, program string) map[string]string {
	t.Helper()
	parts := map[string]string{}
	out, err := exec.Command("go", "version", "-m", program).Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range regexp.MustCompile(`\tdep\t(\S+)\t(\S+)`).FindAllSubmatch(out, -1) {
		parts["pkg:golang/"+string(m[1])] = string(m[2])
	}
	if len(parts) < 5 {
		t.Fatalf("go version -m tells of %d modules:\n%s", len(parts), out)
	}
	parts["pkg:golang/std"] = string(regexp.MustCompile(`: go(\S+)`).FindSubmatch(out)[1])
	text, err := os.ReadFile("../pwa/package.json")
	if err != nil {
		t.Fatal(err)
	}
	var page struct{ Dependencies map[string]string }
	if err := json.Unmarshal(text, &page); err != nil || len(page.Dependencies) == 0 {
		t.Fatal("no packages in package.json:", err)
	}
	for name, version := range page.Dependencies {
		parts["pkg:npm/"+strings.Replace(name, "@", "%40", 1)] = version
	}
	source, err := exec.Command("go", "list", "-f", "{{.Dir}}",
		"github.com/mattn/go-sqlite3").Output()
	if err != nil {
		t.Fatal(err)
	}
	header, err := os.ReadFile(filepath.Join(strings.TrimSpace(string(source)), "sqlite3-binding.h"))
	if err != nil {
		t.Fatal(err)
	}
	m := regexp.MustCompile(`#define SQLITE_VERSION +"([0-9.]+)"`).FindSubmatch(header)
	parts["pkg:generic/sqlite"] = string(m[1])
	return parts
}
