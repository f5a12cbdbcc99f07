package metrics

import (
	"bytes"
	"testing"

	"github.com/prometheus/client_golang/prometheus/testutil/promlint"
	dto "github.com/prometheus/client_model/go"
	"github.com/prometheus/common/expfmt"
	"github.com/prometheus/common/model"
)

// TestAppend_ReadElsewhere: another program's reader of the format gets back what was written,
// awkward labels included, and its check of names and units finds nothing to say.
func TestAppend_ReadElsewhere(t *testing.T) {
	awkward := "a \"quoted\" \\ back\nnext"
	text := Append(nil, []Metric{
		One("practice_wal_bytes", Gauge, "Bytes, \\ and\na second line.", 4_194_304.5),
		{Name: "practice_refused_total", Help: "Refused.", Kind: Counter, Label: "code",
			Samples: []Sample{{awkward, 3}, {"future", 1 << 60}}},
	})
	parser := expfmt.NewTextParser(model.LegacyValidation)
	got, err := parser.TextToMetricFamilies(bytes.NewReader(text))
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	wal, refused := got["practice_wal_bytes"], got["practice_refused_total"]
	if len(got) != 2 || wal.GetType() != dto.MetricType_GAUGE ||
		refused.GetType() != dto.MetricType_COUNTER ||
		wal.GetHelp() != "Bytes, \\ and\na second line." {
		t.Fatalf("read back as %v", got)
	}
	if v := wal.Metric[0].GetGauge().GetValue(); v != 4_194_304.5 {
		t.Errorf("the gauge is %v", v)
	}
	for i, want := range []struct {
		label  string
		number float64
	}{{awkward, 3}, {"future", 1 << 60}} {
		m := refused.Metric[i]
		if m.Label[0].GetName() != "code" || m.Label[0].GetValue() != want.label ||
			m.GetCounter().GetValue() != want.number {
			t.Errorf("sample %d is %v", i, m)
		}
	}
	problems, err := promlint.New(bytes.NewReader(text)).Lint()
	if err != nil || len(problems) != 0 {
		t.Errorf("%v, %v", problems, err)
	}
}
