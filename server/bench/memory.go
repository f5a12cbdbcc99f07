package main

import (
	"context"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"evenhold/internal/sessions"
	"evenhold/sync/clock"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// memoryLimit is what the core may take of a phone's memory, in bytes; an MB is 1,000,000 of them.
const memoryLimit = 48_000_000

// memory measures the core's linear memory, which never shrinks, after the built core has opened
// the example practice as the coach's phone would and shown every person's screens.
func memory(b *bench) (rows []row, err error) {
	if err := b.build(); err != nil {
		return nil, err
	}
	e, err := b.example()
	if err != nil {
		return nil, err
	}
	ctx := context.Background()
	c, err := startCore(ctx)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, c.close(ctx)) }()
	empty := c.memory()
	if err := c.open(ctx, e); err != nil {
		return nil, err
	}
	opened := c.memory()
	screens, err := c.walk(ctx, e)
	if err != nil {
		return nil, err
	}
	return []row{
		limited("memory of the core", float64(c.memory()), "B", memoryLimit,
			fmt.Sprintf("%d records opened, %d screens shown; %d B once opened, %d B when started",
				len(e.docs), screens, opened, empty)),
	}, nil
}

// builtCore returns the core that the last build made.
func builtCore() ([]byte, error) {
	found, err := filepath.Glob("pwa/dist/assets/core.*.wasm")
	if err != nil {
		return nil, err
	}
	if len(found) != 1 {
		return nil, fmt.Errorf("pwa/dist holds %d cores, want one: build again", len(found))
	}
	return os.ReadFile(found[0])
}

// phoneDevice is the coach's phone of this run.
const phoneDevice clock.Device = 0xc0ac4

// open has the core take in all of e and checks that it holds the same documents.
func (c *core) open(ctx context.Context, e *example) error {
	type stored struct {
		Store string `json:"store"`
		Key   string `json:"key"`
		JSON  any    `json:"json,omitempty"`
	}
	me := map[string]string{"device": phoneDevice.String(), "person": "bench", "name": "Bench Coach",
		"role": string(sessions.Coach), "practiceName": e.practice.Name,
		"practiceDoc": e.practice.Doc.String()}
	var snaps []stored
	var blobs [][]byte
	for _, d := range e.docs {
		snaps = append(snaps, stored{Store: "snap", Key: d.ID().String()})
		blobs = append(blobs, wire.AppendSnapshot(nil, d))
	}
	_, err := c.do(ctx, "open", map[string]any{
		"rows": []stored{{Store: "meta", Key: "me", JSON: me}}, "blobs": snaps,
	}, blobs)
	if err != nil {
		return err
	}
	told, err := c.do(ctx, "digest", nil, nil)
	if err != nil {
		return err
	}
	var held map[string]string
	if err := json.Unmarshal(told.Result, &held); err != nil {
		return fmt.Errorf("digests: %w", err)
	}
	for _, d := range e.docs {
		digest := d.Digest()
		if held[d.ID().String()] != hex.EncodeToString(digest[:]) {
			return fmt.Errorf("the core does not hold document %s as the server does", d.ID())
		}
	}
	return nil
}

// walk shows home and each person's screens, and returns how many.
func (c *core) walk(ctx context.Context, e *example) (screens int, err error) {
	routes := []string{"/", "/sync"}
	for _, d := range e.docs {
		if _, isClient := sessions.ClientIn(d); isClient {
			routes = append(routes, routesOf(d)...)
		}
	}
	for _, route := range routes {
		shown, err := c.do(ctx, "go", map[string]string{"route": route}, nil)
		if err != nil {
			return screens, fmt.Errorf("%s: %w", route, err)
		}
		if shown.View.Route != route || shown.View.Screen == "" {
			return screens, fmt.Errorf("%s shows %q instead", route, shown.View.Route)
		}
		screens++
	}
	return screens, nil
}

func routesOf(d *record.Doc) []string {
	person := "/p/" + d.ID().String()
	routes := []string{person, person + "/edit", person + "/flags", person + "/test", person + "/plan"}
	for _, t := range sessions.Tests(d) {
		routes = append(routes, strings.Join([]string{person, "result", t.ID.String()}, "/"))
	}
	return routes
}
