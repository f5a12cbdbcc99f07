package main

import (
	"cmp"
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"time"

	"evenhold/server/access"
	"evenhold/server/demo"
	"evenhold/server/store"
	"evenhold/sync/record"
)

// example is the example practice as the coach's phone holds it.
type example struct {
	practice store.Practice
	docs     []*record.Doc // of the practice and of every client
}

// example fills the example practice once in a run.
func (b *bench) example() (*example, error) {
	if b.filled != nil {
		return b.filled, nil
	}
	folder := filepath.Join(b.folder, "example")
	if err := os.Mkdir(folder, 0o700); err != nil {
		return nil, err
	}
	kept, err := store.Open(filepath.Join(folder, "practice.db"))
	if err != nil {
		return nil, err
	}
	filled, err := fill(kept, folder)
	if err = errors.Join(err, kept.Close()); err != nil {
		return nil, err
	}
	b.filled = filled
	return filled, nil
}

func fill(kept *store.Store, folder string) (*example, error) {
	key, err := access.OpenKey(filepath.Join(folder, "key"))
	if err != nil {
		return nil, err
	}
	if _, _, err := demo.Fill(time.Now(), kept, access.NewDesk(kept, key, time.Now)); err != nil {
		return nil, err
	}
	e := &example{}
	ctx := context.Background()
	if e.practice, err = kept.Practice(ctx); err != nil {
		return nil, err
	}
	ids, err := kept.Documents(ctx)
	if err != nil {
		return nil, err
	}
	for _, id := range ids {
		doc, err := kept.Document(ctx, id)
		if err != nil {
			return nil, err
		}
		e.docs = append(e.docs, doc)
	}
	return e, nil
}

// longest returns the client record with the most operations.
func (e *example) longest() *record.Doc {
	return slices.MaxFunc(e.docs, func(a, b *record.Doc) int { return cmp.Compare(a.Len(), b.Len()) })
}
