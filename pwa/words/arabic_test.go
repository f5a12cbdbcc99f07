package words_test

import (
	"regexp"
	"slices"
	"strings"
	"testing"
)

// The forms that a count takes: Unicode Common Locale Data Repository, language
// plural rules, cardinals of "en" and "ar" (from memory).
var (
	englishForms = []string{"one", "other"}
	arabicForms  = []string{"zero", "one", "two", "few", "many", "other"}
)

// TestSameMessages: a key that Arabic lacks would be shown in English, and an
// argument that it lacks would not be shown at all.
func TestSameMessages(t *testing.T) {
	english, arabic := readMessages(t, "en.json"), readMessages(t, "ar.json")
	for _, key := range arabic.keys() {
		if _, found := english[key]; !found {
			t.Errorf("ar.json has %q, which en.json does not", key)
		}
	}
	for _, key := range english.keys() {
		text, found := arabic[key]
		if !found {
			t.Errorf("ar.json has no words for %q", key)
			continue
		}
		en, err := parse(english[key])
		if err != nil {
			t.Errorf("en.json: %s: %v", key, err)
		}
		ar, err := parse(text)
		if err != nil {
			t.Errorf("ar.json: %s: %v", key, err)
		}
		if !slices.Equal(sorted(en.args), sorted(ar.args)) {
			t.Errorf("%q has the arguments %q in English and %q in Arabic", key,
				sorted(en.args), sorted(ar.args))
		}
		checkForms(t, "en.json: "+key, en, englishForms)
		checkForms(t, "ar.json: "+key, ar, arabicForms)
	}
}

// checkForms: each plural has every form of its language; "=0" may be added.
func checkForms(t *testing.T, where string, s shape, forms []string) {
	t.Helper()
	for _, plural := range s.plurals {
		for _, form := range forms {
			if !slices.Contains(plural, form) {
				t.Errorf("%s: a plural lacks the form %q", where, form)
			}
		}
		for _, form := range plural {
			if !slices.Contains(forms, form) && !strings.HasPrefix(form, "=") {
				t.Errorf("%s: a plural has the form %q, which the language does not", where, form)
			}
		}
	}
}

// twin is a word of the body or of safety and its Arabic, as they must appear
// together.
type twin struct{ english, arabic *regexp.Regexp }

func pair(english, arabic string) twin {
	return twin{regexp.MustCompile(`(?i)\b(` + english + `)\b`), regexp.MustCompile(arabic)}
}

var twins = map[string]twin{
	"left":      pair(`left`, `يسار|أيسر|يسرى`),
	"right":     pair(`right`, `يمين|أيمن|يمنى`),
	"works":     pair(`works (left|right)|works (the )?(left|right|\{\w+\})( side)?`, `عمل`),
	"hand":      pair(`(left|right|\{side\}|other) hand`, `يد`),
	"elbow":     pair(`elbow`, `مرفق`),
	"pain":      pair(`pain|hurts?`, `ألم|مؤلم|سيُصاب`),
	"clinician": pair(`clinician|clinician’s`, `اختصاصي|الاختصاصي`),
	"urgent":    pair(`urgent`, `عاجل`),
	"stop":      pair(`stop at once|stop if|stop this`, `يُوقف`),
}

// TestSidesAlike: left stays left and right stays right, as often as the
// English says them, and what the English says of body and safety is not lost.
// The page's own words say "left" of what remains.
func TestSidesAlike(t *testing.T) {
	english, arabic := readMessages(t, "en.json"), readMessages(t, "ar.json")
	for _, key := range english.keys() {
		if strings.HasPrefix(key, "page.") {
			continue
		}
		for _, side := range []string{"left", "right"} {
			word := twins[side]
			en := len(word.english.FindAllString(english[key], -1))
			ar := len(word.arabic.FindAllString(arabic[key], -1))
			if en != ar {
				t.Errorf("%q says %s %d times in English and %d times in Arabic: %s", key, side,
					en, ar, arabic[key])
			}
		}
		for name, word := range twins {
			if word.english.MatchString(english[key]) && !word.arabic.MatchString(arabic[key]) {
				t.Errorf("%q speaks of %s in English and not in Arabic: %s", key, name, arabic[key])
			}
		}
	}
}

// TestNumbersAlike: a limit or share that is written into a message is the same
// in both languages.
func TestNumbersAlike(t *testing.T) {
	english, arabic := readMessages(t, "en.json"), readMessages(t, "ar.json")
	number := regexp.MustCompile(`\d+(\.\d+)?`)
	form := regexp.MustCompile(`=\d+ \{`)
	for _, key := range english.keys() {
		en := number.FindAllString(form.ReplaceAllString(english[key], "{"), -1)
		ar := number.FindAllString(form.ReplaceAllString(arabic[key], "{"), -1)
		slices.Sort(en)
		slices.Sort(ar)
		if !slices.Equal(en, ar) {
			t.Errorf("%q has the numbers %q in English and %q in Arabic", key, en, ar)
		}
	}
}

// arabicJargon is what no reader should meet: server, synchronise, merge,
// conflict, operation, and "error" outside of the working.
var arabicJargon = regexp.MustCompile(`خادم|مزامن|دمج|تعارض|عملية|خطأ|فشل|غير صالح|تشخيص`)

func TestPlainArabic(t *testing.T) {
	arabic := readMessages(t, "ar.json")
	letters := regexp.MustCompile(`\p{Arabic}`)
	plain := regexp.MustCompile(`\{\w+\}|[^\p{L}]`)
	foreign := []string{"app.name", "look.lang_en", "unit.none"}
	for _, key := range arabic.keys() {
		text := arabic[key]
		isWorking := slices.ContainsFunc(workingPrefixes, func(p string) bool {
			return strings.HasPrefix(key, p)
		})
		if found := arabicJargon.FindString(text); found != "" && !isWorking {
			t.Errorf("%q says %q: %s", key, found, text)
		}
		rest := plain.ReplaceAllString(text, "")
		isPage := strings.HasPrefix(key, "page.")
		if rest != "" && !isPage && !letters.MatchString(rest) && !slices.Contains(foreign, key) {
			t.Errorf("%q is not in Arabic: %s", key, text)
		}
	}
}
