package app

import (
	"errors"
	"math"
	"strconv"
	"strings"

	"evenhold/internal/progression"
	"evenhold/sync/record"
)

// form is what was typed on a screen and refused: kept for correction.
type form struct {
	values map[string]string
	errors map[string]Text
}

// values reads the fields of a form command.
func (a *App) values() (map[string]string, error) {
	var args struct {
		Values map[string]string `json:"values"`
	}
	if err := a.args(&args); err != nil {
		return nil, err
	}
	if args.Values == nil {
		args.Values = map[string]string{}
	}
	return args.Values, nil
}

// entered returns the document on screen and what was typed into its form.
func (a *App) entered() (*record.Doc, map[string]string, error) {
	values, err := a.values()
	if err != nil {
		return nil, nil, err
	}
	d, err := a.subject()
	return d, values, err
}

// keepForm remembers refused fields and returns the first as the refusal.
func (a *App) keepForm(values map[string]string, order []string, errs map[string]Text) error {
	a.forms[a.route] = form{values: values, errors: errs}
	for _, id := range order {
		if text, bad := errs[id]; bad {
			return refuse("field", id, text)
		}
	}
	return nil
}

// show puts what was typed and refused back into the fields of a form.
func (f form) show(fields []Field) []Field {
	for i := range fields {
		if v, typed := f.values[fields[i].ID]; typed {
			fields[i].Value = v
		}
		if text, bad := f.errors[fields[i].ID]; bad {
			fields[i].Error = text
		}
	}
	return fields
}

var errNumber = errors.New("not a number")

// parseScaled reads a decimal number as people type it, with a comma or a
// point and Latin or Arabic-Indic figures, times per, rounded to a whole.
func parseScaled(s string, per float64) (int64, error) {
	var plain strings.Builder
	for _, r := range strings.TrimSpace(s) {
		switch {
		case r >= '٠' && r <= '٩':
			plain.WriteRune('0' + r - '٠')
		case r >= '۰' && r <= '۹':
			plain.WriteRune('0' + r - '۰')
		case r == ',' || r == '٫':
			plain.WriteByte('.')
		case r >= '0' && r <= '9', r == '.', r == '-', r == '+':
			plain.WriteRune(r)
		default: // ParseFloat would read "1e2", "0x10" and "inf"
			return 0, errNumber
		}
	}
	f, err := strconv.ParseFloat(plain.String(), 64)
	if err != nil || math.IsNaN(f) || math.Abs(f*per) > 1e15 {
		return 0, errNumber
	}
	return int64(math.Round(f * per)), nil
}

// number reads one field of a form as a quantity; 0 for an empty one. The
// refusal, if any, is put beside the field.
func number(
	values map[string]string, id string, q progression.Quantity, errs map[string]Text,
) int64 {
	s := strings.TrimSpace(values[id])
	if s == "" {
		return 0
	}
	b, _ := progression.BoundOf(q)
	n, err := parseScaled(s, float64(b.PerShown))
	if err != nil {
		errs[id] = say("error.number")
		return 0
	}
	if err := progression.Check(q, n); err != nil {
		errs[id] = boundText(err)
		return 0
	}
	return n
}

// boundText words a value outside its plausible range.
func boundText(err error) Text {
	out, ok := errors.AsType[*progression.OutOfBounds](err)
	if !ok {
		return say("error.number")
	}
	return sayNumbers(out.Bound.Key, out.Args())
}

// shown writes a stored whole number in the unit people read, "" for 0.
func shown(n int64, per float64) string {
	if n == 0 {
		return ""
	}
	return strconv.FormatFloat(float64(n)/per, 'f', -1, 64)
}
