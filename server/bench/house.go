package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"time"

	"evenhold/server/access"
	"evenhold/server/api"
	"evenhold/server/live"
	"evenhold/server/store"
	"evenhold/sync/clock"
)

// house is the whole server on loopback with its practice on the disk.
type house struct {
	caller
	store  *store.Store
	desk   *access.Desk
	server *http.Server
	hub    *live.Hub
}

// caller asks a server.
type caller struct {
	url    string
	client *http.Client
}

// openHouse starts a new practice in folder. Log lines are made and thrown away.
func openHouse(folder string) (*house, error) {
	app := filepath.Join(folder, "app") // empty: nobody asks for files here
	if err := os.MkdirAll(app, 0o700); err != nil {
		return nil, err
	}
	kept, err := store.Open(filepath.Join(folder, "practice.db"))
	if err != nil {
		return nil, err
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, errors.Join(err, kept.Close())
	}
	h := &house{store: kept, hub: live.NewHub()}
	h.client = &http.Client{Timeout: time.Minute}
	h.url = "http://" + listener.Addr().String()
	served, err := h.serve(folder, app)
	if err != nil {
		return nil, errors.Join(err, listener.Close(), kept.Close())
	}
	h.desk = served.Desk()
	h.server = &http.Server{Handler: served.Handler(), ReadHeaderTimeout: time.Minute}
	go func() { _ = h.server.Serve(listener) }() // ends with close, which is told below
	return h, nil
}

func (h *house) serve(folder, app string) (*api.Server, error) {
	key, err := access.OpenKey(filepath.Join(folder, "key"))
	if err != nil {
		return nil, err
	}
	origins, err := api.NewOrigins(h.url, "")
	if err != nil {
		return nil, err
	}
	return api.New(api.Config{
		Store: h.store, Key: key, Hub: h.hub, Now: time.Now, Origins: origins, App: os.DirFS(app),
		Log:     slog.New(slog.NewTextHandler(io.Discard, nil)),
		Claimed: func() {}, Closing: make(chan struct{}),
	})
}

func (h *house) close() error {
	h.hub.Close()
	return errors.Join(h.server.Close(), h.store.Close())
}

// claim joins as the owner, the way a phone does, and returns an access token.
func (h *house) claim(device clock.Device) (token string, err error) {
	code, _, err := h.desk.SetUp(context.Background())
	if err != nil {
		return "", err
	}
	joining, err := json.Marshal(map[string]string{"code": code.String(), "device": device.String(),
		"name": "Bench Owner", "practice": "Bench Practice"})
	if err != nil {
		return "", err
	}
	joined, _, err := h.post("/api/join", "application/json", joining, nil)
	if err != nil {
		return "", err
	}
	with := http.Header{}
	for _, c := range joined.Cookies() {
		with.Add("Cookie", c.Name+"="+c.Value)
	}
	_, body, err := h.post("/api/token", "application/json", []byte("{}"), with)
	if err != nil {
		return "", err
	}
	var answer struct {
		Access string `json:"access"`
	}
	err = json.Unmarshal(body, &answer)
	return answer.Access, err
}

// post returns the answer and its whole body; anything but a good answer is an error.
func (c caller) post(
	path, media string, body []byte, with http.Header,
) (*http.Response, []byte, error) {
	request, err := http.NewRequest(http.MethodPost, c.url+path, bytes.NewReader(body))
	if err != nil {
		return nil, nil, err
	}
	request.Header.Set("Content-Type", media)
	for name, values := range with {
		request.Header[name] = values
	}
	response, err := c.client.Do(request)
	if err != nil {
		return nil, nil, err
	}
	defer response.Body.Close()
	read, err := io.ReadAll(response.Body)
	if err == nil && response.StatusCode != http.StatusOK {
		err = fmt.Errorf("%s: %s: %s", path, response.Status, read)
	}
	return response, read, err
}
