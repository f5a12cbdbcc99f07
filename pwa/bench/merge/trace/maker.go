package trace

import (
	"math"
	"slices"
	"strconv"
)

// exercise is one that people do; a carry has a load and a distance.
type exercise struct {
	name    string
	isCarry bool
}

var exercises = []exercise{
	{"one_arm_hang", false}, {"side_bridge", false}, {"wall_sit", false},
	{"split_squat_hold", false}, {"calf_raise_hold", false}, {"face_down_bridge", false},
	{"grip_hold", false}, {"hip_bridge_hold", false}, {"two_hand_carry", true},
	{"suitcase_carry", true}, {"overhead_carry", true}, {"front_rack_carry", true},
}

// level is what a person manages now; it grows a little every day.
type level struct {
	seconds, loadKG float64
	distance        int64 // in metres
}

// item is one record as a phone knows it.
type item struct {
	id, in string
	fields map[string]int64 // the whole numbers, as first written
}

// known holds the records that a phone has, in the order in which it met them.
type known struct {
	items []*item
	has   map[string]bool
	dead  map[string]bool
}

func newKnown() *known { return &known{has: map[string]bool{}, dead: map[string]bool{}} }

func (k *known) learn(it *item) {
	if !k.has[it.id] {
		k.has[it.id] = true
		k.items = append(k.items, it)
	}
}

// learnAll takes over what other knows.
func (k *known) learnAll(other *known) {
	for _, it := range other.items {
		k.learn(it)
	}
	for id := range other.dead {
		k.dead[id] = true
	}
}

func (k *known) liveSets() []*item {
	var live []*item
	for _, it := range k.items {
		if it.in == Sets && !k.dead[it.id] {
			live = append(live, it)
		}
	}
	return live
}

// maker makes the lines in the order of time.
type maker struct {
	random
	part    string
	lines   []Line
	counts  map[string]int64 // of identifiers, by phone
	phones  map[string]*known
	server  *known
	levels  map[string]*level
	plan    []string         // identifiers in order
	offline map[string]int64 // days to go without a network
}

func newMaker(seed uint32) *maker {
	m := &maker{
		random: random(seed), part: PartYears, counts: map[string]int64{},
		phones: map[string]*known{PhoneA: newKnown(), PhoneB: newKnown()},
		server: newKnown(), levels: map[string]*level{}, offline: map[string]int64{},
	}
	for _, e := range exercises {
		m.levels[e.name] = &level{float64(m.between(20, 45)), float64(m.between(8, 24)),
			m.between(20, 40)}
	}
	return m
}

func (m *maker) newID(phone string) string {
	m.counts[phone]++
	return phone + strconv.FormatInt(m.counts[phone], 36)
}

func (m *maker) commit(phone string, atMS int64, ops ...Op) {
	m.lines = append(m.lines, Line{Part: m.part, Phone: phone, AtMS: atMS, Ops: ops})
}

// sync is a phone meeting the server.
func (m *maker) sync(phone string) {
	m.lines = append(m.lines, Line{Part: m.part, Phone: phone, IsSync: true})
	m.server.learnAll(m.phones[phone])
	m.phones[phone].learnAll(m.server)
}

// meet is the evening of a day: the phones meet the server, or are away for days.
func (m *maker) meet() {
	for _, phone := range []string{PhoneB, PhoneA} {
		if m.offline[phone] > 0 {
			m.offline[phone]--
			continue
		}
		chance := 0.6
		if phone == PhoneA {
			chance = 0.85
		}
		if m.isLucky(chance) {
			m.sync(phone)
		}
		if m.isLucky(0.02) {
			m.offline[phone] = m.between(3, 9)
		}
	}
}

// add commits a new record and has its phone know it.
func (m *maker) add(phone string, atMS int64, in string, fields ...Field) string {
	it := &item{id: m.newID(phone), in: in, fields: map[string]int64{}}
	for _, f := range fields {
		it.fields[f.Name] = f.Value.Whole
	}
	m.phones[phone].learn(it)
	m.commit(phone, atMS, Op{Do: Add, In: in, ID: it.id, Fields: fields})
	return it.id
}

func (m *maker) planEdit(phone string, atMS int64) {
	chance := m.unit()
	switch {
	case len(m.plan) < 6 || chance < 0.2:
		id := m.newID(phone)
		at := m.between(0, int64(len(m.plan)))
		fields := []Field{
			text("exercise", pick(&m.random, exercises).name),
			text("flank", pick(&m.random, []string{"L", "R", "both"})),
			whole("rounds", m.between(2, 4)), whole("holdS", m.between(4, 12)*5),
			whole("massG", m.between(0, 16)*2000), whole("distanceM", 0),
			whole("restS", m.between(4, 12)*15), text("cue", m.words(2, 6)),
		}
		m.plan = slices.Insert(m.plan, int(at), id)
		m.commit(phone, atMS, Op{Do: Add, In: Plan, ID: id, Index: at, Fields: fields})
	case chance < 0.3:
		at := m.between(0, int64(len(m.plan))-1)
		m.commit(phone, atMS, Op{Do: Delete, In: Plan, ID: m.plan[at]})
		m.plan = slices.Delete(m.plan, int(at), int(at)+1)
	default:
		id := pick(&m.random, m.plan)
		var f Field
		switch name := pick(&m.random, []string{"holdS", "massG", "rounds", "restS", "cue"}); name {
		case "cue":
			f = text(name, m.words(2, 6))
		case "rounds":
			f = whole(name, m.between(2, 5))
		case "massG":
			f = whole(name, m.between(0, 20)*2000)
		default:
			f = whole(name, m.between(3, 15)*5)
		}
		m.commit(phone, atMS, Op{Do: Set, In: Plan, ID: id, Field: f.Name, Value: &f.Value})
	}
}

// halfKG rounds a load to half kilograms and returns it in grams.
func halfKG(kg float64) int64 { return int64(math.Round(kg*2)) * 500 }
