package loading

// Body is what the statics need to know of a person. Sex is "female", "male" or
// "" (not given: the mean of the two tables is used).
type Body struct {
	MassG     int64
	StatureMM int
	Sex       string
}

// Plausible limits of an entry, ours.
const (
	minMassG, maxMassG         = 20_000, 300_000
	minStatureMM, maxStatureMM = 800, 2_500
)

// check returns a *FieldError that names the first field that is missing or
// not plausible.
func (b Body) check() error {
	switch {
	case b.MassG == 0:
		return &FieldError{Field: "mass", Missing: true}
	case b.StatureMM == 0:
		return &FieldError{Field: "stature", Missing: true}
	case b.MassG < minMassG || b.MassG > maxMassG:
		return &FieldError{Field: "mass"}
	case b.StatureMM < minStatureMM || b.StatureMM > maxStatureMM:
		return &FieldError{Field: "stature"}
	}
	return nil
}

// segment is one row of a segment table: mass as a fraction of body mass, centre
// as a fraction of the segment's length from its first end.
type segment struct{ mass, centre float64 }

// table holds the segments of one sex. Lengths are fractions of stature.
//
// Masses and centres: "Adjustments to Zatsiorsky-Seluyanov's segment inertia
// parameters", J Biomech 1996;29(9):1223-1230 (numbers seen in an open data
// repository). Head and trunk lengths of men: the same paper as coded in an open
// repository; those of women and the parts of the trunk: from memory.
type table struct {
	head, upper, middle, lower segment
	upperArm, forearm, hand    segment
	thigh, shank, foot         segment
	headLen                    float64
	upperLen, middleLen        float64
	lowerLen                   float64
}

var men = table{
	head:  segment{.0694, .5976},
	upper: segment{.1596, .2999}, middle: segment{.1633, .4502}, lower: segment{.1117, .6115},
	upperArm: segment{.0271, .5772}, forearm: segment{.0162, .4574}, hand: segment{.0061, .7900},
	thigh: segment{.1416, .4095}, shank: segment{.0433, .4395}, foot: segment{.0137, .4415},
	headLen:  .1168,
	upperLen: .3055 * 170.7 / 531.9, middleLen: .3055 * 215.5 / 531.9,
	lowerLen: .3055 * 145.7 / 531.9,
}

var women = table{
	head:  segment{.0668, .5894},
	upper: segment{.1545, .2077}, middle: segment{.1465, .4512}, lower: segment{.1247, .4920},
	upperArm: segment{.0255, .5754}, forearm: segment{.0138, .4559}, hand: segment{.0056, .7474},
	thigh: segment{.1478, .3612}, shank: segment{.0481, .4352}, foot: segment{.0129, .4014},
	headLen:  .1154,
	upperLen: .3051 * 142.5 / 529.3, middleLen: .3051 * 205.3 / 529.3,
	lowerLen: .3051 * 181.5 / 529.3,
}

func tableFor(sex string) table {
	switch sex {
	case "male":
		return men
	case "female":
		return women
	}
	return mean(men, women)
}

func mean(a, b table) table {
	m := func(x, y segment) segment {
		return segment{(x.mass + y.mass) / 2, (x.centre + y.centre) / 2}
	}
	return table{
		head: m(a.head, b.head), upper: m(a.upper, b.upper), middle: m(a.middle, b.middle),
		lower: m(a.lower, b.lower), upperArm: m(a.upperArm, b.upperArm),
		forearm: m(a.forearm, b.forearm), hand: m(a.hand, b.hand),
		thigh: m(a.thigh, b.thigh), shank: m(a.shank, b.shank), foot: m(a.foot, b.foot),
		headLen:  (a.headLen + b.headLen) / 2,
		upperLen: (a.upperLen + b.upperLen) / 2, middleLen: (a.middleLen + b.middleLen) / 2,
		lowerLen: (a.lowerLen + b.lowerLen) / 2,
	}
}

// total is the mass of the whole body as a fraction of itself: 1 but for the
// rounding of the published rows.
func (t table) total() float64 {
	return t.head.mass + t.upper.mass + t.middle.mass + t.lower.mass +
		2*(t.upperArm.mass+t.forearm.mass+t.hand.mass+t.thigh.mass+t.shank.mass+t.foot.mass)
}

// gravity is standard gravity rounded as in the published worked values, m/s².
const gravity = 9.81

// shape is a body with every length that the statics use, in metres, and what
// can be off about them. Heights are above the sole of a standing person.
type shape struct {
	t                                table
	massKG                           float64
	stature                          float64
	shoulder, hip, knee              float64 // heights
	halfShoulder, halfHip            float64
	upperArm, forearm, hand          float64
	lowBack                          float64 // height of the disc between L4 and L5
	clearance                        float64 // hand to body in a side carry
	elbowOut                         float64 // support point beyond the shoulder, headwards
	leanRad                          float64 // of the wall lean, from upright
	upperScale                       float64 // mass above the low back, 1 as tabled
	halfFoot, kneeBreadth, ankleHigh float64
}

// newShape scales the classic textbook figure (lengths as fractions of stature,
// as coded in two open repositories) to b. Foot and knee breadth: from memory.
// Clearance and lean are ours.
func newShape(b Body) shape {
	h := float64(b.StatureMM) / 1000
	return shape{
		t: tableFor(b.Sex), massKG: float64(b.MassG) / 1000, stature: h,
		shoulder: .818 * h, hip: .530 * h, knee: .285 * h, ankleHigh: .039 * h,
		halfShoulder: .129 * h, halfHip: .191 * h / 2,
		upperArm: .186 * h, forearm: .146 * h, hand: .108 * h,
		lowBack: .610 * h, clearance: .05, leanRad: wallLeanRad, upperScale: 1,
		halfFoot: .0275 * h, kneeBreadth: .055 * h,
	}
}
