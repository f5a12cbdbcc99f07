package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"os"
	"path/filepath"
	"sort"
	"strings"
)

// addManifest completes static/manifest.json with the screenshots that are there. Its icons are
// those of icon.go, which a test compares.
func addManifest(s site, static string) error {
	text, err := os.ReadFile(filepath.Join(static, "manifest.json"))
	if err != nil {
		return err
	}
	var manifest map[string]any
	if err := json.Unmarshal(text, &manifest); err != nil {
		return fmt.Errorf("manifest.json: %w", err)
	}
	shots, err := addScreenshots(s, filepath.Join(static, "screenshots"))
	if err != nil {
		return err
	}
	if len(shots) > 0 {
		manifest["screenshots"] = shots
	}
	out, err := json.Marshal(manifest)
	if err != nil {
		return err
	}
	s["manifest.webmanifest"] = out
	return nil
}

type screenshot struct {
	Src        string `json:"src"`
	Sizes      string `json:"sizes"`
	Type       string `json:"type"`
	FormFactor string `json:"form_factor"`
	Label      string `json:"label"`
}

// addScreenshots adds every picture of the folder; "02-first-plan.png" is labelled "First plan".
func addScreenshots(s site, dir string) ([]screenshot, error) {
	files, err := filepath.Glob(filepath.Join(dir, "*.png"))
	if err != nil {
		return nil, err
	}
	sort.Strings(files)
	var shots []screenshot
	for _, file := range files {
		content, err := os.ReadFile(file)
		if err != nil {
			return nil, err
		}
		picture, _, err := image.DecodeConfig(bytes.NewReader(content))
		if err != nil {
			return nil, fmt.Errorf("%s: %w", filepath.Base(file), err)
		}
		shot := screenshot{
			Src:        "/screenshots/" + filepath.Base(file),
			Sizes:      fmt.Sprintf("%dx%d", picture.Width, picture.Height),
			Type:       "image/png",
			FormFactor: "narrow",
			Label:      label(strings.TrimSuffix(filepath.Base(file), ".png")),
		}
		if picture.Width > picture.Height {
			shot.FormFactor = "wide"
		}
		s[strings.TrimPrefix(shot.Src, "/")] = content
		shots = append(shots, shot)
	}
	return shots, nil
}

func label(name string) string {
	words := strings.TrimSpace(strings.ReplaceAll(strings.TrimLeft(name, "0123456789-"), "-", " "))
	if words == "" {
		return name
	}
	return strings.ToUpper(words[:1]) + words[1:]
}
