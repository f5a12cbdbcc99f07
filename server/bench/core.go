package main

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
	"github.com/tetratelabs/wazero/imports/wasi_snapshot_preview1"
)

// core is the phone's core, the very file that phones get, outside a browser.
type core struct {
	runtime wazero.Runtime
	module  api.Module
}

func startCore(ctx context.Context) (*core, error) {
	file, err := builtCore()
	if err != nil {
		return nil, err
	}
	c := &core{runtime: wazero.NewRuntime(ctx)}
	if _, err = wasi_snapshot_preview1.Instantiate(ctx, c.runtime); err == nil {
		c.module, err = c.runtime.InstantiateWithConfig(ctx, file, wazero.NewModuleConfig().
			WithStartFunctions("_initialize").WithSysWalltime().WithSysNanotime().
			WithRandSource(rand.Reader))
	}
	if err != nil {
		return nil, errors.Join(err, c.close(ctx))
	}
	return c, nil
}

func (c *core) close(ctx context.Context) error { return c.runtime.Close(ctx) }

// memory returns the size of the linear memory in bytes.
func (c *core) memory() uint32 { return c.module.Memory().Size() }

// coreAnswer is the part of an answer that the bench reads.
type coreAnswer struct {
	Error *struct {
		Code string `json:"code"`
	} `json:"error"`
	View struct {
		Screen string `json:"screen"`
		Route  string `json:"route"`
	} `json:"view"`
	Result json.RawMessage `json:"result"`
}

// do has the core carry a command out; a refusal is an error.
func (c *core) do(ctx context.Context, name string, args any, blobs [][]byte) (coreAnswer, error) {
	var random [16]byte
	rand.Read(random[:]) // never fails: the program ends if the system has no randomness
	now := time.Now().UnixMilli()
	frame, err := appendFrame(nil, map[string]any{
		"do": name, "args": args, "tzMin": 60, "random": hex.EncodeToString(random[:]),
		"at": map[string]any{"wallMS": now, "monoMS": 1, "run": "bench"},
	}, blobs)
	if err != nil {
		return coreAnswer{}, err
	}
	out, err := c.call(ctx, frame)
	if err != nil {
		return coreAnswer{}, fmt.Errorf("%s: %w", name, err)
	}
	head, err := frameHead(out)
	if err != nil {
		return coreAnswer{}, err
	}
	var answer coreAnswer
	if err := json.Unmarshal(head, &answer); err != nil {
		return coreAnswer{}, fmt.Errorf("%s: %w", name, err)
	}
	if answer.Error != nil {
		return answer, fmt.Errorf("%s: refused with %s", name, answer.Error.Code)
	}
	return answer, nil
}

// call hands a frame over and returns a view of the answer, valid until the next call.
func (c *core) call(ctx context.Context, frame []byte) ([]byte, error) {
	place, err := c.module.ExportedFunction("alloc").Call(ctx, uint64(len(frame)))
	if err != nil {
		return nil, err
	}
	if !c.module.Memory().Write(uint32(place[0]), frame) {
		return nil, fmt.Errorf("a frame of %d bytes has no room", len(frame))
	}
	packed, err := c.module.ExportedFunction("call").Call(ctx, place[0], uint64(len(frame)))
	if err != nil {
		return nil, err
	}
	out, ok := c.module.Memory().Read(uint32(packed[0]>>32), uint32(packed[0]))
	if !ok {
		return nil, errors.New("an answer outside the memory")
	}
	return out, nil
}
