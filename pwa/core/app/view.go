package app

import "evenhold/internal/sessions"

// The types of this file are pwa/src/views.ts in Go; views_test.go holds the
// two together.

// Action is what a tap asks for.
type Action struct {
	_     [0]func()
	Label Text   `json:"label"`
	Do    string `json:"do,omitempty"`
	Args  any    `json:"args,omitempty"`
	Route string `json:"route,omitempty"`
	Kind  string `json:"kind,omitempty"`
	Form  bool   `json:"form,omitempty"`
	Say   Text   `json:"say,omitempty"` // spoken at once by the page
}

// Head is the top of every screen.
type Head struct {
	_          [0]func()
	Name       string `json:"name,omitempty"`
	Title      Text   `json:"title,omitempty"`
	Where      Text   `json:"where,omitempty"`
	State      Text   `json:"state"`
	StateRoute string `json:"stateRoute,omitempty"`
	Back       string `json:"back,omitempty"`
}

// Said is one line after a command, with a way back.
type Said struct {
	Text Text    `json:"text"`
	Undo *Action `json:"undo,omitempty"`
}

// Care is words on the amber ground.
type Care struct {
	Title   Text     `json:"title"`
	Lines   []Text   `json:"lines"`
	Actions []Action `json:"actions,omitempty"`
}

// Bars are fractions of the half width for each working side.
type Bars struct {
	Left  float64 `json:"left"`
	Right float64 `json:"right"`
}

// Row is a line of a list.
type Row struct {
	Name    string       `json:"name,omitempty"`
	Title   Text         `json:"title,omitempty"`
	Lines   []Text       `json:"lines"`
	Reason  Text         `json:"reason,omitempty"`
	Bars    *Bars        `json:"bars,omitempty"`
	Route   string       `json:"route,omitempty"`
	Actions []Action     `json:"actions,omitempty"`
	Care    bool         `json:"care,omitempty"`
	Working *WorkingView `json:"working,omitempty"`
}

// Section is a titled run of rows.
type Section struct {
	Title Text       `json:"title,omitempty"`
	Note  Text       `json:"note,omitempty"`
	Rows  []Row      `json:"rows"`
	Empty Text       `json:"empty,omitempty"`
	Trend *TrendView `json:"trend,omitempty"`
}

// TrendMark is one test of a side, or where it is heading: its height, the hold and
// the band as fractions, and whether the hold was only a lower bound.
type TrendMark struct {
	At      float64  `json:"at"`
	Mid     float64  `json:"mid"`
	Low     float64  `json:"low"`
	High    float64  `json:"high"`
	Tested  *float64 `json:"tested,omitempty"`
	AtLeast bool     `json:"atLeast,omitempty"`
}

// TrendView is both sides through time, either side of the plumb line.
type TrendView struct {
	Label Text        `json:"label"`
	First Text        `json:"first"`
	Last  Text        `json:"last"`
	Left  []TrendMark `json:"left"`
	Right []TrendMark `json:"right"`
}

// Option is one choice of a field.
type Option struct {
	_     [0]func()
	Value string `json:"value"`
	Label Text   `json:"label"`
}

// Field is one question of a form.
type Field struct {
	ID       string   `json:"id"`
	Kind     string   `json:"kind"`
	Label    Text     `json:"label"`
	Hint     Text     `json:"hint,omitempty"`
	Value    string   `json:"value"`
	Unit     Text     `json:"unit,omitempty"`
	Options  []Option `json:"options,omitempty"`
	Error    Text     `json:"error,omitempty"`
	Optional bool     `json:"optional,omitempty"`
	Ends     []Text   `json:"ends,omitempty"`
}

// Half is one half of the timing screen.
type Half struct {
	Side   string            `json:"side,omitempty"` // "" for a hold without sides
	Title  Text              `json:"title"`
	Notes  []Text            `json:"notes"`
	State  string            `json:"state"`
	Since  *sessions.Reading `json:"since,omitempty"`
	HeldS  *int64            `json:"heldS,omitempty"`
	Result Text              `json:"result,omitempty"`
	Act    Text              `json:"act,omitempty"`
	Do     string            `json:"do,omitempty"`
	Args   any               `json:"args,omitempty"`
}

// Cue is something to sound, say, buzz or show at a moment.
type Cue struct {
	_       [0]func()
	AtMS    int64  `json:"atMS"`
	Channel string `json:"channel"`
	Tone    string `json:"tone,omitempty"`
	Text    Text   `json:"text,omitempty"`
}

// TestFoot is what stands under the two halves.
type TestFoot struct {
	Title    Text              `json:"title,omitempty"`
	Until    *sessions.Reading `json:"until,omitempty"`
	RestS    int64             `json:"restS,omitempty"`
	Chips    []Action          `json:"chips"`
	Field    *Field            `json:"field,omitempty"`
	Cues     []Cue             `json:"cues,omitempty"`
	CuesFrom *sessions.Reading `json:"cuesFrom,omitempty"`
}

// SideResult is one bar of a result.
type SideResult struct {
	HeldS   int64    `json:"heldS"`
	Bar     float64  `json:"bar"`
	Low     *float64 `json:"low,omitempty"`
	High    *float64 `json:"high,omitempty"`
	Notes   []Text   `json:"notes"`
	AtLeast bool     `json:"atLeast,omitempty"`
}

// WorkingInput, WorkingStep and WorkingSource are lines of a WorkingView.
type WorkingInput struct {
	_     [0]func()
	Label Text `json:"label"`
	Value Text `json:"value"`
	Note  Text `json:"note,omitempty"`
}

// WorkingStep is one line of the calculation.
type WorkingStep struct {
	_       [0]func()
	Label   Text   `json:"label"`
	Formula string `json:"formula"`
	Value   Text   `json:"value"`
}

// WorkingSource is where a number or formula is from.
type WorkingSource struct {
	_      [0]func()
	Title  string `json:"title"`
	Where  string `json:"where"`
	Status Text   `json:"status"`
}

// WorkingView is how a number was come by.
type WorkingView struct {
	Title    Text            `json:"title"`
	Inputs   []WorkingInput  `json:"inputs"`
	Steps    []WorkingStep   `json:"steps"`
	Sources  []WorkingSource `json:"sources"`
	Cautions []Text          `json:"cautions"`
}

// Stepper is a number with − and +.
type Stepper struct {
	ID    string  `json:"id"`
	Label Text    `json:"label"`
	Notes []Text  `json:"notes,omitempty"`
	Side  string  `json:"side,omitempty"`
	Value float64 `json:"value"`
	Unit  Text    `json:"unit"`
	Less  float64 `json:"less"`
	More  float64 `json:"more"`
	Do    string  `json:"do"`
	Args  any     `json:"args,omitempty"`
	Pin   *Action `json:"pin,omitempty"`
	Error Text    `json:"error,omitempty"`
}

// PlanItem is one exercise of a plan.
type PlanItem struct {
	Title    Text      `json:"title"`
	Lines    []Text    `json:"lines"`
	Why      []Text    `json:"why,omitempty"`
	Steppers []Stepper `json:"steppers"`
	Also     []Row     `json:"also,omitempty"`
	Course   *Course   `json:"course,omitempty"`
	Actions  []Action  `json:"actions,omitempty"`
}

// CourseBar is how tired a working side is: fractions of the half width.
type CourseBar struct {
	Low  float64 `json:"low"`
	Bar  float64 `json:"bar"`
	High float64 `json:"high"`
}

// CourseSide is one set of one side: a bar for each repetition, and what is left.
type CourseSide struct {
	Bars    []CourseBar `json:"bars"`
	Reserve Text        `json:"reserve"`
	Care    bool        `json:"care,omitempty"`
}

// CourseSet is one set of both sides.
type CourseSet struct {
	Label Text        `json:"label"`
	Left  *CourseSide `json:"left,omitempty"`
	Right *CourseSide `json:"right,omitempty"`
}

// Course is what an exercise is predicted to do to each working side.
type Course struct {
	Title Text        `json:"title"`
	Left  []Text      `json:"left"`
	Right []Text      `json:"right"`
	Sets  []CourseSet `json:"sets"`
}

// FigureLine, FigureSupport and FigureWeight are parts of a Figure.
type FigureLine struct {
	X1   float64 `json:"x1"`
	Y1   float64 `json:"y1"`
	X2   float64 `json:"x2"`
	Y2   float64 `json:"y2"`
	Part string  `json:"part"`
}

// FigureSupport is a point that bears weight.
type FigureSupport struct {
	X       float64 `json:"x"`
	Y       float64 `json:"y"`
	Newtons float64 `json:"newtons"`
}

// Figure is a posture in the frontal plane, in metres.
type Figure struct {
	Label    Text            `json:"label"`
	Lines    []FigureLine    `json:"lines"`
	Supports []FigureSupport `json:"supports"`
	Weight   *FigureSupport  `json:"weight,omitempty"`
	Works    string          `json:"works"`
	Notes    []Text          `json:"notes"`
}

// Interval is one stretch of a led series.
type Interval struct {
	_      [0]func()
	Kind   string `json:"kind"`
	FromMS int64  `json:"fromMS"`
	ToMS   int64  `json:"toMS"`
	Label  Text   `json:"label"`
	Count  Text   `json:"count,omitempty"`
}

// View is any screen. Screen names which; the fields that a screen does not
// have are left out.
type View struct {
	Screen  string  `json:"screen"`
	Route   string  `json:"route"`
	Head    Head    `json:"head"`
	Busy    bool    `json:"busy,omitempty"`
	Running *Action `json:"running,omitempty"`
	Said    *Said   `json:"said,omitempty"`
	Prefs   *prefs  `json:"prefs,omitempty"`

	Finding  Text      `json:"finding,omitempty"`
	Lines    []Text    `json:"lines,omitzero"`
	Care     *Care     `json:"care,omitempty"`
	Sections []Section `json:"sections,omitzero"`
	Fields   []Field   `json:"fields,omitzero"`
	Field    *Field    `json:"field,omitempty"`
	Actions  []Action  `json:"actions,omitzero"`

	Phase  string    `json:"phase,omitempty"`
	Figure *Figure   `json:"figure,omitempty"`
	Halves []Half    `json:"halves,omitempty"`
	Foot   *TestFoot `json:"foot,omitempty"`

	Left     *SideResult   `json:"left,omitempty"`
	Right    *SideResult   `json:"right,omitempty"`
	Verdict  Text          `json:"verdict,omitempty"`
	Detail   []Text        `json:"detail,omitzero"`
	Working  *WorkingView  `json:"working,omitempty"`
	Workings []WorkingView `json:"workings,omitempty"`
	Items    []PlanItem    `json:"items,omitzero"`

	QR   []string `json:"qr,omitempty"`
	Link string   `json:"link,omitempty"`
	Code string   `json:"code,omitempty"`

	Side      string            `json:"side,omitempty"`
	Notes     []Text            `json:"notes,omitzero"`
	Count     Text              `json:"count,omitempty"`
	Steppers  []Stepper         `json:"steppers,omitempty"`
	Since     *sessions.Reading `json:"since,omitempty"`
	Intervals []Interval        `json:"intervals,omitempty"`
	Cues      []Cue             `json:"cues,omitempty"`
	AtEnd     *Action           `json:"atEnd,omitempty"`
}
