package boundary_test

import (
	"fmt"

	"evenhold/internal/boundary"
)

func Example() {
	var asked struct {
		Do   string              `json:"do"`
		Args boundary.RawMessage `json:"args"`
	}
	err := boundary.Unmarshal([]byte(`{"do":"test.start","args":{"side":"left"}}`), &asked)
	fmt.Println(asked.Do, string(asked.Args), err)

	text, err := boundary.Marshal(map[string]any{"works": "left", "heldS": 61, "notes": []string{}})
	fmt.Println(string(text), err)
	// Output:
	// test.start {"side":"left"} <nil>
	// {"heldS":61,"notes":[],"works":"left"} <nil>
}
