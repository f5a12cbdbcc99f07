package app_test

import (
	"archive/zip"
	"bytes"
	"encoding/base64"
	"encoding/json"
	"testing"
)

// TestExportEverything: one button on a person's page gives the file with all that the server
// holds; without the server it is said, and nothing is lost.
func TestExportEverything(t *testing.T) {
	h := newHouse(t)
	owner := h.owner()
	doc := owner.addClient("Ira K.")
	owner.screen(doc)
	owner.exchange()
	owner.visit("/p/" + doc)
	if len(owner.offers("export.ask")) != 1 {
		t.Fatal("it is not offered")
	}
	a := owner.send("export.ask", object{})
	owner.says("said.everything")
	var file struct{ Name, Type, Base64 string }
	if err := json.Unmarshal(a.Result, &file); err != nil {
		t.Fatal(err)
	}
	packed, err := base64.StdEncoding.DecodeString(file.Base64)
	if err != nil {
		t.Fatal(err)
	}
	z, err := zip.NewReader(bytes.NewReader(packed), int64(len(packed)))
	if err != nil || len(z.File) < 3 || file.Type != "application/zip" {
		t.Errorf("%v; %+v", err, file.Name)
	}
	owner.house = nil
	if a := owner.send("export.ask", object{}); a.Error == nil {
		t.Error("without a network it says nothing")
	}
}
