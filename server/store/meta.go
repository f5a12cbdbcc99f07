package store

import (
	"context"
	"crypto/rand"
	"database/sql"
	"encoding/base32"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// Keys of the table meta.
const (
	metaEpoch    = "epoch"    // changes when a backup is put in place
	metaPractice = "practice" // identity of the practice
	metaDevice   = "device"   // the server's own device
	metaChange   = "change"   // number of the last change to any document
	metaTrail    = "trail"    // the tail of the audit trail
)

func meta(tx *sql.Tx, key string) (string, error) {
	var value string
	err := tx.QueryRow("SELECT value FROM meta WHERE key = ?", key).Scan(&value)
	return value, translate(err)
}

func setMeta(tx *sql.Tx, key, value string) error {
	_, err := tx.Exec("INSERT INTO meta (key, value) VALUES (?, ?)"+
		" ON CONFLICT (key) DO UPDATE SET value = excluded.value", key, value)
	return err
}

func metaNumber(tx *sql.Tx, key string) (uint64, error) {
	text, err := meta(tx, key)
	if err != nil {
		return 0, err
	}
	n, err := strconv.ParseUint(text, 10, 64)
	if err != nil {
		return 0, fmt.Errorf("%w: meta %s", ErrCorrupt, key)
	}
	return n, nil
}

// found gives a new file its identities; it leaves those of an older file alone.
func found(tx *sql.Tx) error {
	if _, err := meta(tx, metaEpoch); err == nil || !errors.Is(err, ErrNotFound) {
		return err
	}
	values := map[string]string{
		metaEpoch:    newEpoch(),
		metaPractice: RandomID(),
		metaDevice:   clock.Device(randomBits() | 1).String(),
		metaChange:   "0",
	}
	for key, value := range values {
		if err := setMeta(tx, key, value); err != nil {
			return err
		}
	}
	return nil
}

// newEpoch returns an epoch unlike any other: 48 bits, so that a reader that keeps numbers as
// doubles keeps it whole.
func newEpoch() string { return strconv.FormatUint(randomBits()>>16|1, 10) }

func randomBits() uint64 {
	var b [8]byte
	rand.Read(b[:]) // never fails: the program ends if the system has no randomness
	return binary.BigEndian.Uint64(b[:])
}

// RandomID returns a fresh identity of 80 random bits in 16 lower-case characters.
func RandomID() string {
	var b [10]byte
	rand.Read(b[:])
	return strings.ToLower(base32.StdEncoding.EncodeToString(b[:]))
}

// NewTag returns 16 random hexadecimal digits, for telling apart what need not be secret.
func NewTag() string {
	var b [8]byte
	rand.Read(b[:])
	return hex.EncodeToString(b[:])
}

// Epoch returns the number that tells one life of the practice file from the
// next: phones start their cursors afresh when it changes.
func (s *Store) Epoch(ctx context.Context) (epoch uint64, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		epoch, err = metaNumber(tx, metaEpoch)
		return err
	})
	return epoch, err
}

// PracticeDoc returns the identifier of the practice document.
func practiceDoc(tx *sql.Tx) (record.ID, error) {
	text, err := meta(tx, metaDevice)
	if err != nil {
		return record.ID{}, err
	}
	device, err := clock.ParseDevice(text)
	if err != nil {
		return record.ID{}, fmt.Errorf("%w: meta %s", ErrCorrupt, metaDevice)
	}
	return record.ID{Device: device, Seq: 1}, nil
}

// packID writes a record or document id so that bytes sort as ids do.
func packID(id record.ID) []byte {
	b := binary.BigEndian.AppendUint64(make([]byte, 0, 16), uint64(id.Device))
	return binary.BigEndian.AppendUint64(b, id.Seq)
}

func unpackID(b []byte) (record.ID, error) {
	if len(b) != 16 {
		return record.ID{}, fmt.Errorf("%w: an id of %d bytes", ErrCorrupt, len(b))
	}
	return record.ID{
		Device: clock.Device(binary.BigEndian.Uint64(b)), Seq: binary.BigEndian.Uint64(b[8:]),
	}, nil
}
