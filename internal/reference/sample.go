package reference

import (
	_ "embed"
	"errors"
	"math"
	"time"

	"evenhold/internal/sides"
	"evenhold/internal/working"
)

//go:embed data/samples.tsv
var samplesTSV string

var samples = readSamples(samplesTSV)

// Test names what was held.
type Test string

// The three timed holds of the trunk battery.
const (
	SideBridge Test = "side_bridge"
	Extensor   Test = "extensor"
	Flexor     Test = "flexor"
)

// Errors of Percentile.
var (
	ErrHold   = errors.New("the hold is not a time above zero: nothing was placed")
	ErrSample = errors.New("the sample needs two people or more, and a mean and an SD above zero")
)

// Sample is a group of people whose holds were measured. A practice may fill
// one in itself, with a source of its own.
type Sample struct {
	_      [0]func()
	ID     string        // names its description, message key "sample." + ID, if Name is empty
	Name   string        // of a practice's own: who they were, in its own words
	Test   Test          // what was held
	Side   sides.Working // empty: the two sides together, or a hold without sides
	Sex    string        // "male", "female"; empty: men and women together
	People int
	Mean   time.Duration
	SD     time.Duration
	Source working.Source // its status is the status of Mean and SD
}

// FewPeople: in a sample of fewer, chance in who they were moves a place near its middle by
// more than 17 points either way, 19 times in 20 (1.96·0.399/√20, for its mean alone), and
// the working says so. The limit is ours.
const FewPeople = 20

// Samples returns the samples that a hold can be placed in, best match first:
// those of the person's own sex, then those of men and women together. Side may
// be empty, which asks for samples of either side. An empty or unknown sex gets
// only the samples of men and women together. The result is nil if none fits.
func Samples(test Test, side sides.Working, sex string) []Sample {
	var own, mixed []Sample
	for _, s := range samples {
		if s.Test != test || (side != "" && s.Side != "" && s.Side != side) {
			continue
		}
		switch s.Sex {
		case "":
			mixed = append(mixed, s)
		case sex:
			own = append(own, s)
		}
	}
	return append(own, mixed...)
}

// Percentile is the place of a hold in a sample, in percent from 0 to 100.
type Percentile struct {
	Sample  Sample
	Percent float64 // by a normal curve with the sample's mean and SD
	// Skewed is the same by a log-normal curve. Hold times are right-skewed, so
	// the distance from Percent shows what the choice of curve is worth.
	Skewed    float64
	IsAtLeast bool // the hold was cut short: the true place is this or higher
	Working   working.Working
}

// percentileLevel is the probability that Working.Low and High enclose.
const percentileLevel = 0.90

// Percentile places a hold in s. Set cutShort when the hold ended for another
// reason than the trunk, so that it is only a lower bound. The interval covers
// the chance make-up of the sample, by the large-sample variance of a normal
// quantile, and neither the error of one test nor the choice of sample. It
// returns ErrHold or ErrSample.
func (s Sample) Percentile(hold time.Duration, cutShort bool) (Percentile, error) {
	if hold <= 0 {
		return Percentile{}, ErrHold
	}
	if s.People < 2 || s.Mean <= 0 || s.SD <= 0 {
		return Percentile{}, ErrSample
	}
	held, mean, sd := hold.Seconds(), s.Mean.Seconds(), s.SD.Seconds()
	z := (held - mean) / sd
	logVar := math.Log1p((sd / mean) * (sd / mean))
	skewedZ := (math.Log(held/mean) + logVar/2) / math.Sqrt(logVar)
	// Variance of (x-mean)/sd over samples of n: (1 + z²/2)/n, delta method.
	spread := math.Sqrt((1 + z*z/2) / float64(s.People))
	reach := math.Sqrt2 * math.Erfinv(percentileLevel) * spread

	p := Percentile{
		Sample: s, Percent: 100 * normalCDF(z), Skewed: 100 * normalCDF(skewedZ),
		IsAtLeast: cutShort,
	}
	note := ""
	cautions := []string{"caution.right_skew", "caution.sample_choice"}
	if cutShort {
		note = "note.lower_bound"
		cautions = append(cautions, "caution.at_least")
	}
	if s.People < FewPeople {
		cautions = append(cautions, "caution.small_sample")
	}
	if s.Source.Status == working.Memory {
		cautions = append(cautions, "caution.from_memory")
	}
	p.Working = working.Working{
		Key: "working.percentile",
		Inputs: []working.Input{
			{Key: "input.hold", Value: held, Unit: "s", Note: note},
			{Key: "input.sample_mean", Value: mean, Unit: "s"},
			{Key: "input.sample_sd", Value: sd, Unit: "s"},
			{Key: "input.sample_people", Value: float64(s.People), Unit: "1"},
		},
		Steps: []working.Step{
			{Key: "step.z", Formula: "z = (hold - mean)/SD", Value: z, Unit: "1"},
			{Key: "step.percentile", Formula: "100·Φ(z)", Value: p.Percent, Unit: "%"},
			{Key: "step.percentile_skewed", Formula: "100·Φ((ln(hold/mean) + v/2)/√v), " +
				"v = ln(1 + (SD/mean)²)", Value: p.Skewed, Unit: "%"},
		},
		Sources: []working.Source{s.Source},
		Low:     100 * normalCDF(z-reach), High: 100 * normalCDF(z+reach),
		Level: percentileLevel, Unit: "%", Cautions: cautions,
	}
	return p, nil
}

func normalCDF(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

func readSamples(text string) []Sample {
	var found []Sample
	for _, row := range rows(text, 9) {
		found = append(found, Sample{
			ID: row[0], Test: Test(row[2]), Side: sides.Working(row[3]), Sex: row[4],
			People: int(number(row[5])),
			Mean:   seconds(number(row[6])), SD: seconds(number(row[7])),
			Source: withStatus(row[1], row[8]),
		})
	}
	return found
}

func seconds(s float64) time.Duration {
	return time.Duration(math.Round(s*1000)) * time.Millisecond
}
