// Package wire turns operations, the two frames of the sync conversation and a document's
// snapshot into bytes and back.
//
// The first byte is the format version, the second the type of frame. Operations are laid out
// by column, each as the difference from what the column so far suggests, so that a general
// compressor finds little left to do. The bytes are a function of what is encoded. SPEC.md
// describes them; vectors in testdata freeze them.
//
// Every decoder is bounded by constants, never panics and returns one of a closed list of
// errors. The package is pure.
package wire

import (
	"encoding/binary"
	"math"

	"evenhold/sync/clock"
	"evenhold/sync/record"
)

// The format versions. A list of operations is short and is kept one by one: it is written as
// version 1, bytes as they are. Snapshots are written as version 2, which codes the same columns
// with models that learn as they go. The conversation is written as version 3: its models begin
// with what a lesson taught them, and neither end repeats what the other has just said.
const (
	Version       = 3
	versionCoded  = 2
	versionPlain  = 1
	maxShortCount = 31 // devices that version 3 counts within its second byte
)

// The types of frames.
const (
	typeOperations = 1
	typeRequest    = 2
	typeResponse   = 3
	typeSnapshot   = 4
	typeCompacted  = 5
)

// writer gathers a frame's body and the devices it mentions, which stand in front of it.
type writer struct {
	body    []byte // of version 1
	devices []clock.Device
	index   map[clock.Device]uint64
	shared  int // of devices, those that the reader knows

	coded *encoder // of version 2 and 3; nil for version 1
	*models
	load load
}

// frame appends to b the frame that fill writes: of version 2, unless that would be denser than
// its readers take.
func frame(b []byte, frameType byte, fill func(*writer)) []byte {
	w := newWriter()
	w.coded, w.models = newEncoder(), newModels()
	fill(w)
	if w.load.isTooDense(len(w.coded.end())) {
		return plainFrame(b, frameType, fill)
	}
	w.body = w.coded.out
	return w.append(b, versionCoded, frameType)
}

func plainFrame(b []byte, frameType byte, fill func(*writer)) []byte {
	w := newWriter()
	fill(w)
	return w.append(b, versionPlain, frameType)
}

// briefFrame appends to b the frame of version 3 that fill writes, in which the devices of shared
// need not be named. It returns nil if that would be denser than its readers take.
func briefFrame(b []byte, frameType byte, shared []clock.Device, fill func(*writer)) []byte {
	m := newModels()
	m.teach(taught)
	w := writeWith(m, shared, fill)
	if w.load.isTooDense(len(w.coded.end())) {
		return nil
	}
	w.body = w.coded.out
	return w.append(b, Version, frameType)
}

func writeWith(m *models, shared []clock.Device, fill func(*writer)) *writer {
	w := newWriter()
	w.coded, w.models = newEncoder(), m
	for _, device := range shared {
		w.deviceIndex(device)
	}
	w.shared = len(w.devices)
	fill(w)
	return w
}

func newWriter() *writer { return &writer{index: map[clock.Device]uint64{}} }

func (w *writer) append(b []byte, version, frameType byte) []byte {
	fresh := w.devices[w.shared:]
	if version == Version {
		b = append(b, version, frameType|byte(min(len(fresh), maxShortCount))<<3)
		if len(fresh) >= maxShortCount {
			b = binary.AppendUvarint(b, uint64(len(fresh)-maxShortCount))
		}
	} else {
		b = append(b, version, frameType)
		b = binary.AppendUvarint(b, uint64(len(fresh)))
	}
	for _, device := range fresh {
		b = binary.BigEndian.AppendUint64(b, uint64(device))
	}
	return append(b, w.body...)
}

func (w *writer) uvarint(v uint64) {
	if w.coded != nil {
		w.coded.number(w.model(w.slot), v)
		return
	}
	w.body = binary.AppendUvarint(w.body, v)
}

// varint is the zigzag of v as uvarint writes it, in both versions.
func (w *writer) varint(v int64) { w.uvarint(zigzag(v)) }

func (w *writer) raw(b []byte) {
	if w.coded == nil {
		w.body = append(w.body, b...)
		return
	}
	for _, c := range b {
		w.coded.plain(uint32(c), 8)
	}
}

func (w *writer) text(s string) {
	if w.coded != nil {
		w.words(s)
		return
	}
	w.uvarint(uint64(len(s)))
	w.body = append(w.body, s...)
}

func (w *writer) flag(isSet bool) {
	if isSet {
		w.uvarint(1)
	} else {
		w.uvarint(0)
	}
}

// hash writes 32 bytes, or one when they are all zero.
func (w *writer) hash(h [32]byte) {
	w.flag(h != [32]byte{})
	if h != ([32]byte{}) {
		w.raw(h[:])
	}
}

func (w *writer) device(d clock.Device) {
	if w.isTaught() {
		w.put(aboutDevices, w.deviceIndex(d))
		return
	}
	w.uvarint(w.deviceIndex(d))
}

// put writes one number with the model of what it is about.
func (w *writer) put(about int, v uint64) {
	last := w.about(about)
	w.uvarint(v)
	w.about(last)
}

func (w *writer) deviceIndex(d clock.Device) uint64 {
	at, found := w.index[d]
	if !found {
		at = uint64(len(w.devices))
		w.index[d] = at
		w.devices = append(w.devices, d)
	}
	return at
}

func (w *writer) id(id record.ID) {
	w.device(id.Device)
	w.uvarint(id.Seq)
}

// reader takes a frame apart. The first error stays; after it every read returns zero.
type reader struct {
	rest    []byte // of version 1
	devices []clock.Device
	err     error

	coded *decoder // of version 2 and 3; nil for version 1
	*models
	load load
}

// open checks the head of a frame and reads its devices.
func open(b []byte, frameType byte, maxBytes int) *reader {
	r := &reader{rest: b}
	switch {
	case len(b) < 2:
		r.err = ErrMalformed
	case b[0] != versionCoded && b[0] != versionPlain:
		r.err = ErrVersion
	case b[1] != frameType:
		r.err = ErrType
	case len(b) > maxBytes:
		r.err = ErrLimit
	}
	if r.err != nil {
		return r
	}
	r.rest = b[2:]
	r.introduce(r.count(MaxOperations))
	if b[0] == versionCoded && r.err == nil {
		r.coded, r.models, r.rest = newDecoder(r.rest), newModels(), nil
	}
	return r
}

// openBrief is open for a frame of version 3.
func openBrief(b []byte, frameType byte, maxBytes int, shared []clock.Device) *reader {
	r := &reader{rest: b}
	switch {
	case len(b) < 2:
		r.err = ErrMalformed
	case b[1]&7 != frameType:
		r.err = ErrType
	case len(b) > maxBytes:
		r.err = ErrLimit
	}
	if r.err != nil {
		return r
	}
	r.rest = b[2:]
	r.devices = shared
	count := int(b[1] >> 3)
	if count == maxShortCount {
		count += r.count(MaxOperations)
	}
	r.introduce(count)
	if r.err == nil {
		r.coded, r.models, r.rest = newDecoder(r.rest), newModels(), nil
		r.teach(taught)
	}
	return r
}

// introduce reads devices that stand in front.
func (r *reader) introduce(count int) {
	if count > len(r.rest)/8 {
		r.fail(ErrMalformed)
		return
	}
	for range count {
		r.devices = append(r.devices, clock.Device(binary.BigEndian.Uint64(r.raw(8))))
	}
}

// close returns the first error; bytes left over are one.
func (r *reader) close() error {
	if r.err == nil && (len(r.rest) > 0 || r.coded != nil && !r.coded.isWhole()) {
		r.err = ErrMalformed
	}
	return r.err
}

func (r *reader) fail(err error) {
	if r.err == nil {
		r.err = err
	}
	r.rest = nil
}

func (r *reader) uvarint() uint64 {
	if r.coded != nil {
		return r.number(r.model(r.slot))
	}
	v, n := binary.Uvarint(r.rest)
	if n <= 0 {
		r.fail(ErrMalformed)
		return 0
	}
	r.rest = r.rest[n:]
	return v
}

func (r *reader) varint() int64 { return unzigzag(r.uvarint()) }

// number reads a coded number; after an error it is 0.
func (r *reader) number(m *numbers) uint64 {
	if r.err != nil {
		return 0
	}
	v := r.coded.number(m)
	if r.coded.isOver() {
		r.fail(ErrMalformed)
		return 0
	}
	return v
}

// count reads the length of a list, at most limit.
func (r *reader) count(limit int) int {
	v := r.uvarint()
	if v > uint64(limit) {
		r.fail(ErrLimit)
		return 0
	}
	return int(v)
}

// items reads the length of a list of which every entry of version 1 takes at least one byte.
func (r *reader) items(limit int) int {
	n := r.count(limit)
	if r.coded == nil && n > len(r.rest) {
		r.fail(ErrMalformed)
		return 0
	}
	return n
}

// raw reads n bytes; after an error it returns n zeros, and n is never more than 32 then.
func (r *reader) raw(n int) []byte {
	if r.coded != nil {
		return r.plain(n)
	}
	if n > len(r.rest) {
		r.fail(ErrMalformed)
		return make([]byte, min(n, 32))
	}
	b := r.rest[:n]
	r.rest = r.rest[n:]
	return b
}

// plain reads n bytes of version 2 of which nothing is foretold.
func (r *reader) plain(n int) []byte {
	b := make([]byte, n)
	for i := range b {
		b[i] = byte(r.coded.plain(8))
	}
	if r.coded.isOver() {
		r.fail(ErrMalformed)
	}
	return b
}

func (r *reader) text(maxBytes int) string {
	if r.coded != nil {
		return r.words(maxBytes)
	}
	return r.textOf(r.count(maxBytes))
}

// textOf reads n bytes of text.
func (r *reader) textOf(n int) string {
	if n > len(r.rest) {
		r.fail(ErrMalformed)
		return ""
	}
	return string(r.raw(n))
}

func (r *reader) hash() (h [32]byte) {
	if r.flag() {
		copy(h[:], r.raw(32))
	}
	return h
}

func (r *reader) flag() bool {
	b := r.uvarint()
	if b > 1 {
		r.fail(ErrMalformed)
	}
	return b == 1
}

func (r *reader) device() clock.Device {
	if r.isTaught() {
		return r.deviceAt(r.get(aboutDevices))
	}
	return r.deviceAt(r.uvarint())
}

// get reads what put wrote.
func (r *reader) get(about int) uint64 {
	last := r.about(about)
	v := r.uvarint()
	r.about(last)
	return v
}

func (r *reader) deviceAt(index uint64) clock.Device {
	if index >= uint64(len(r.devices)) {
		r.fail(ErrMalformed)
		return 0
	}
	return r.devices[index]
}

func (r *reader) id() record.ID {
	device := r.device()
	return record.ID{Device: device, Seq: r.uvarint()}
}

// small reads a small whole number.
func (r *reader) small() int { return r.count(math.MaxInt32) }

// zigzag folds a signed difference so that small ones stay small.
func zigzag(v int64) uint64   { return uint64(v<<1) ^ uint64(v>>63) }
func unzigzag(v uint64) int64 { return int64(v>>1) ^ -int64(v&1) }
