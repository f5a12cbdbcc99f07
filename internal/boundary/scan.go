package boundary

import (
	"bytes"
	"strconv"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// peek returns the next byte, and 0, which stands nowhere in JSON, at the end.
func (r *reader) peek() byte {
	if r.at < len(r.text) {
		return r.text[r.at]
	}
	return 0
}

func (r *reader) take(c byte) bool {
	is := r.peek() == c
	if is {
		r.at++
	}
	return is
}

func (r *reader) space() {
	for _, c := range r.text[r.at:] {
		if c != ' ' && c != '\t' && c != '\n' && c != '\r' {
			return
		}
		r.at++
	}
}

// items reads what stands between brackets, by commas, up to end.
func (r *reader) items(end byte, each func() error) error {
	if r.depth++; r.depth > maxDepth {
		return ErrLimit
	}
	r.at++ // the opening bracket
	r.space()
	for isFirst := true; !isFirst || !r.take(end); isFirst = false {
		if err := each(); err != nil {
			return err
		}
		r.space()
		if r.take(end) {
			break
		}
		if !r.take(',') {
			return r.fail("a comma or bracket is missing")
		}
		r.space()
	}
	r.depth--
	return nil
}

// name reads a member's name, still escaped, and the colon.
func (r *reader) name() ([]byte, error) {
	if r.peek() != '"' {
		return nil, r.fail("a name is missing")
	}
	name, err := r.quoted()
	if r.space(); err == nil && !r.take(':') {
		err = r.fail("a colon is missing")
	}
	return name, err
}

// digits reads a number: RFC 8259, section 6.
func (r *reader) digits() ([]byte, error) {
	start := r.at
	r.take('-')
	ok := r.take('0') || r.run()
	if ok && r.take('.') {
		ok = r.run()
	}
	if ok && (r.take('e') || r.take('E')) {
		_ = r.take('+') || r.take('-')
		ok = r.run()
	}
	if !ok {
		return nil, r.fail("no value here")
	}
	return r.text[start:r.at], nil
}

func (r *reader) run() bool {
	start := r.at
	for c := r.peek(); c >= '0' && c <= '9'; c = r.peek() {
		r.at++
	}
	return r.at > start
}

// quoted reads a string: what stands between its quotes, still escaped.
func (r *reader) quoted() ([]byte, error) {
	r.at++ // the opening quote
	start := r.at
	for r.at < len(r.text) {
		c, size := r.text[r.at], 1
		if c == '"' {
			r.at++
			return r.text[start : r.at-1], nil
		}
		if c == '\\' {
			_, size = unescape(r.text[r.at:])
		}
		if c < ' ' || size == 0 {
			break
		}
		r.at += size
	}
	return nil, r.fail("a string breaks off")
}

// shortEscapes are the letters of RFC 8259, section 7, and what they stand for.
const shortEscapes, shortMeanings = `"\/bfnrt`, "\"\\/\b\f\n\r\t"

// unescape returns the character that the escape at the start of b stands for,
// and the escape's length in bytes, which is 0 when there is no such escape.
// Half of a surrogate pair is U+FFFD, as in encoding/json.
func unescape(b []byte) (c rune, size int) {
	if len(b) > 1 {
		if i := strings.IndexByte(shortEscapes, b[1]); i >= 0 {
			return rune(shortMeanings[i]), 2
		}
	}
	c, ok := codeUnit(b)
	if !ok {
		return 0, 0
	}
	if next, ok := codeUnit(b[6:]); ok && utf16.DecodeRune(c, next) != utf8.RuneError {
		return utf16.DecodeRune(c, next), 12
	}
	return c, 6
}

// codeUnit reads \uXXXX at the start of b.
func codeUnit(b []byte) (rune, bool) {
	if len(b) < 6 || b[0] != '\\' || b[1] != 'u' {
		return 0, false
	}
	unit, err := strconv.ParseUint(string(b[2:6]), 16, 16)
	return rune(unit), err == nil
}

// unquote turns what quoted returns into text. Bytes that are not UTF-8 become
// U+FFFD, as in encoding/json.
func unquote(b []byte) string {
	if bytes.IndexByte(b, '\\') < 0 && utf8.Valid(b) {
		return string(b)
	}
	text := make([]byte, 0, len(b))
	for len(b) > 0 {
		c, size := utf8.DecodeRune(b)
		if c == '\\' {
			c, size = unescape(b)
		}
		text, b = utf8.AppendRune(text, c), b[size:]
	}
	return string(text)
}
