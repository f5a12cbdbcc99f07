package reference_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"evenhold/internal/reference"
	"evenhold/internal/working"
)

func ExampleMust() {
	n := reference.Must("endurance.trunk.b0")
	fmt.Println(n.Value, n.Unit, n.Source.Year, n.Source.Status)
	// Output: 22.69 s 2010 seen
}

func TestFindUnknown(t *testing.T) {
	if n, ok := reference.Find("no.such.number"); ok || n.ID != "" {
		t.Errorf("Find of an unknown id = %+v, %v", n, ok)
	}
}

// "Is the side bridge test valid and reliable for assessing trunk lateral flexor
// endurance in recreational female athletes?", Biology 2022;11(7):1043,
// doi:10.3390/biology11071043, states the typical error; MDC95 = 1.96·√2·TE and
// MDC90 = 1.645·√2·TE are the usual definitions.
func TestDetectableChangeFollowsFromTypicalError(t *testing.T) {
	te := reference.Must("noise.typical_error").Value
	for id, z := range map[string]float64{"noise.mdc95": 1.96, "noise.mdc90": 1.645} {
		want := z * math.Sqrt2 * te
		if got := reference.Must(id).Value; math.Abs(got-want) > 0.005 {
			t.Errorf("%s = %v, want %.3f", id, got, want)
		}
	}
}

// "Adjustments to Zatsiorsky-Seluyanov's segment inertia parameters", J Biomech
// 1996;29(9):1223-1230: the parts, limbs twice, add to the whole body (women to
// 0.9999 as printed), and the three parts of the trunk add to the trunk.
func TestSegmentMassesAddUp(t *testing.T) {
	whole := map[string]float64{"male": 1.0000, "female": 0.9999}
	for sex, want := range whole {
		mass := func(s string) float64 {
			return reference.Must("segment." + sex + "." + s + ".mass").Value
		}
		sum := mass("head") + mass("trunk")
		for _, limb := range []string{"upper_arm", "forearm", "hand", "thigh", "shank", "foot"} {
			sum += 2 * mass(limb)
		}
		if math.Abs(sum-want) > 1e-9 {
			t.Errorf("%s: whole body = %.4f, want %.4f", sex, sum, want)
		}
		parts := mass("upper_trunk") + mass("middle_trunk") + mass("lower_trunk")
		if math.Abs(parts-mass("trunk")) > 1e-9 {
			t.Errorf("%s: trunk parts = %.4f, trunk %.4f", sex, parts, mass("trunk"))
		}
	}
}

// A row that is remembered must say so even if its paper was seen.
func TestStatusIsOfTheRow(t *testing.T) {
	if s := reference.Must("noise.mdc95").Source.Status; s != working.Computed {
		t.Errorf("noise.mdc95 is %q, want computed", s)
	}
	if s := reference.Must("band.right_left").Source.Status; s != working.Memory {
		t.Errorf("band.right_left is %q, want memory", s)
	}
	if s := reference.SourceOf("practice"); s.Status != working.Practice || s.DOI != "" {
		t.Errorf("practice source = %+v", s)
	}
}

func TestUnknownIDsPanicByName(t *testing.T) {
	for name, call := range map[string]func(){
		"number": func() { reference.Must("nothing.here") },
		"source": func() { reference.SourceOf("nothing.here") },
	} {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if text := fmt.Sprint(recover()); !strings.Contains(text, "nothing.here") {
					t.Errorf("panic %q does not name the id", text)
				}
			}()
			call()
		})
	}
}
