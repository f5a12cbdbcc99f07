package trace

import "math"

// daily says what happens on a day.
type daily struct {
	planEdits, edits, deletes, meetings int64
	session, note                       string // the phone that writes it, "" if none
}

func (m *maker) yearsDay(d int64) daily {
	for _, e := range exercises {
		m.levels[e.name].seconds += 0.03
		m.levels[e.name].loadKG += 0.02
	}
	var today daily
	if d > 0 && m.isLucky(33.0/365) {
		today.planEdits = 1
	}
	if m.isLucky(160.0 / 365) {
		today.session = PhoneA
		if m.isLucky(0.7) {
			today.session = PhoneB
		}
	}
	today.edits = m.times(0.31)
	if m.isLucky(22.0 / 365) {
		today.deletes = 1
	}
	if m.isLucky(60.0 / 365) {
		today.note = pick(&m.random, []string{PhoneA, PhoneB})
	}
	today.meetings = m.times(45.0 / 365)
	return today
}

// apartDay is a day of the thirty in which the phones do not meet.
func (m *maker) apartDay(d int64) daily {
	var today daily
	if m.isLucky(0.13) {
		today.planEdits = 1
	}
	switch {
	case d%2 == 0:
		today.session = PhoneB
	case d%6 == 1:
		today.session = PhoneA
	}
	if m.isLucky(0.6) {
		today.edits = 1
	}
	if m.isLucky(0.06) {
		today.deletes = 1
	}
	if m.isLucky(0.25) {
		today.note = pick(&m.random, []string{PhoneA, PhoneB})
	}
	if m.isLucky(0.25) {
		today.meetings = 1
	}
	return today
}

func (m *maker) day(d int64, today daily) {
	base := startMS + d*dayMS
	for i := range today.planEdits {
		m.planEdit(PhoneA, base+8*hourMS+i*minuteMS+m.between(0, 50*secondMS))
	}
	if today.session != "" {
		at := base + m.between(9, 18)*hourMS + m.between(0, hourMS)
		m.session(today.session, at, m.between(12, 16))
	}
	for i := range today.edits {
		phone := pick(&m.random, []string{PhoneA, PhoneB})
		if it := m.recent(phone, 80); it != nil {
			at := base + 19*hourMS + i*minuteMS + m.between(0, 50*secondMS)
			m.edit(phone, at, it, pick(&m.random, editable))
		}
	}
	for i := range today.deletes {
		phone := pick(&m.random, []string{PhoneA, PhoneB})
		if it := m.recent(phone, 80); it != nil {
			m.delete(phone, base+20*hourMS+i*100*secondMS, it)
		}
	}
	if today.note != "" {
		at := base + 20*hourMS + m.between(0, hourMS)
		m.add(today.note, at, Notes, text("writer", writerOf(today.note)), whole("atMS", at),
			text("text", m.words(8, 40)))
	}
	for i := range today.meetings {
		m.both(base + 21*hourMS + i*100*secondMS + m.between(0, 90*secondMS))
	}
}

func writerOf(phone string) string {
	if phone == PhoneA {
		return "coach"
	}
	return "athlete"
}

// session is one training session with so many sets, each committed when it is done.
func (m *maker) session(phone string, atMS, sets int64) {
	session := m.add(phone, atMS, Sessions,
		text("title", pick(&m.random, []string{"holds", "carries", "mixed", "assessment"})),
		text("writer", writerOf(phone)),
		text("place", pick(&m.random, []string{"home", "clinic", "gym"})),
		whole("beganMS", atMS), whole("doneMS", 0), text("remark", ""))
	var today [4]exercise
	for i := range today {
		today[i] = pick(&m.random, exercises)
	}
	at := atMS + m.between(60, 240)*secondMS + m.between(0, 999)
	for i, done := 0, int64(0); done < sets; i++ {
		sides := []string{"both"}
		if m.isLucky(0.5) {
			sides = []string{"L", "R"}
		}
		for round := range 2 {
			for _, side := range sides {
				if done < sets {
					done++
					at = m.set(phone, session, today[i%len(today)], side, at, float64(round))
				}
			}
		}
	}
	end := at + m.between(20, 200)*secondMS
	ops := []Op{{Do: Set, In: Sessions, ID: session, Field: "doneMS", Value: &Value{Whole: end}}}
	if m.isLucky(0.35) {
		note := m.words(4, 16)
		ops = append(ops, Op{Do: Set, In: Sessions, ID: session, Field: "remark",
			Value: &Value{Text: &note}})
	}
	m.commit(phone, end, ops...)
}

// set commits one set that starts at atMS and returns when the next one starts.
func (m *maker) set(
	phone, session string, e exercise, side string, atMS int64, tired float64,
) (nextMS int64) {
	now := m.levels[e.name]
	seconds := max(5, int64(math.Round(now.seconds+m.bell()*4-tired)))
	loadG, distanceM := int64(0), int64(0)
	switch {
	case e.isCarry:
		loadG = halfKG(now.loadKG)
		distanceM = int64(math.Round(float64(now.distance) + m.bell()*3))
	case m.isLucky(0.3):
		loadG = halfKG(now.loadKG / 3)
	}
	effort := int64(math.Min(10, math.Max(4, math.Round(7+m.bell()+tired*0.4))))
	pain, note := int64(0), ""
	if !m.isLucky(0.7) {
		pain = m.between(1, 5)
	}
	if m.isLucky(0.12) {
		note = m.words(2, 8)
	}
	end := atMS + seconds*secondMS + m.between(1, 6)*secondMS + m.between(0, 999)
	m.add(phone, end, Sets, text("training", session), text("exercise", e.name), text("flank", side),
		whole("holdS", seconds), whole("massG", loadG), whole("distanceM", distanceM),
		whole("exertion", effort), whole("ache", pain), text("remark", note), whole("beganMS", atMS))
	return end + m.between(40, 150)*secondMS + m.between(0, 999)
}

var editable = []string{"holdS", "massG", "exertion", "ache", "remark"}

func (m *maker) edit(phone string, atMS int64, it *item, field string) {
	var v Field
	switch field {
	case "holdS":
		v = whole(field, max(5, it.fields[field]+m.between(-8, 8)))
	case "massG":
		v = whole(field, max(0, it.fields[field]+m.between(-4, 4)*500))
	case "exertion":
		v = whole(field, m.between(4, 10))
	case "ache":
		v = whole(field, m.between(0, 6))
	default:
		v = text(field, m.words(2, 10))
	}
	m.commit(phone, atMS, Op{Do: Set, In: Sets, ID: it.id, Field: field, Value: &v.Value})
}

func (m *maker) delete(phone string, atMS int64, it *item) {
	m.phones[phone].dead[it.id] = true
	m.commit(phone, atMS, Op{Do: Delete, In: Sets, ID: it.id})
}

// recent returns one of the last sets that the phone knows of, nil if there are none.
func (m *maker) recent(phone string, last int64) *item {
	live := m.phones[phone].liveSets()
	if len(live) == 0 {
		return nil
	}
	return live[max(0, int64(len(live))-1-m.between(0, last))]
}

// both has the two phones touch one set without seeing each other.
func (m *maker) both(atMS int64) {
	var shared []*item
	for _, it := range m.phones[PhoneA].liveSets() {
		if other := m.phones[PhoneB]; other.has[it.id] && !other.dead[it.id] {
			shared = append(shared, it)
		}
	}
	if len(shared) == 0 {
		return
	}
	it := shared[max(0, int64(len(shared))-1-m.between(0, 150))]
	kind, field := m.unit(), pick(&m.random, editable)
	otherMS := atMS + m.between(-500, 500)*secondMS
	m.edit(PhoneA, atMS, it, field)
	switch {
	case kind < 0.65:
		m.edit(PhoneB, otherMS, it, field)
	case kind < 0.85:
		m.edit(PhoneB, otherMS, it, pick(&m.random, editable))
	default:
		m.delete(PhoneB, otherMS, it)
	}
}
