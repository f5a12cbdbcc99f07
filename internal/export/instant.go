package export

// minuteMS and dayMS are lengths of time.
const (
	minuteMS = 60_000
	dayMS    = 1440 * minuteMS
)

// instant writes milliseconds since 1970 UTC as RFC 3339 (July 2002) in a zone that many
// minutes east of UTC, to the second. It is not left to package time, whose layouts and
// zones are 20 kB of what phones download; a test holds the two together.
func instant(ms, zoneMin int64) string {
	local := ms + zoneMin*minuteMS
	days := floorDiv(local, dayMS)
	inDayS := (local - days*dayMS) / 1000
	year, month, day := civil(days)
	b := append(pad(nil, year, 4), '-')
	b = append(pad(b, month, 2), '-')
	b = append(pad(b, day, 2), 'T')
	b = append(pad(b, inDayS/3600, 2), ':')
	b = append(pad(b, inDayS/60%60, 2), ':')
	b = pad(b, inDayS%60, 2)
	if zoneMin == 0 {
		return string(append(b, 'Z'))
	}
	sign := byte('+')
	if zoneMin < 0 {
		sign, zoneMin = '-', -zoneMin
	}
	b = append(pad(append(b, sign), zoneMin/60, 2), ':')
	return string(pad(b, zoneMin%60, 2))
}

// civil is the Gregorian date of a day counted from 1970-01-01. It counts from 1 March of
// year 0, so that a leap day ends its year, and in eras of 400 years, which are alike.
func civil(days int64) (year, month, day int64) {
	const (
		toMarch  = 719_468 // days from 0000-03-01 to 1970-01-01
		eraDays  = 146_097
		fourDays = 1460
	)
	days += toMarch
	era := floorDiv(days, eraDays)
	inEra := days - era*eraDays
	yearOfEra := (inEra - inEra/fourDays + inEra/36_524 - inEra/(eraDays-1)) / 365
	inYear := inEra - (365*yearOfEra + yearOfEra/4 - yearOfEra/100)
	fromMarch := (5*inYear + 2) / 153
	day = inYear - (153*fromMarch+2)/5 + 1
	month, year = fromMarch+3, yearOfEra+era*400
	if month > 12 {
		month, year = month-12, year+1
	}
	return year, month, day
}

func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

func pad(b []byte, n int64, width int) []byte {
	if n < 0 {
		b, n = append(b, '-'), -n
	}
	digits := make([]byte, 0, 20)
	for ; n > 0 || len(digits) < width; n /= 10 {
		digits = append(digits, byte('0'+n%10))
	}
	for i := len(digits) - 1; i >= 0; i-- {
		b = append(b, digits[i])
	}
	return b
}
