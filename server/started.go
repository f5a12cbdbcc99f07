package main

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"evenhold/server/durable"
)

// startedName is the file in the data folder with the settings that the server was last started
// with: a command beside it finds phones' address, the backups and the rest without being told.
const startedName = "started-with.conf"

// keepStarted writes down what the server is started with; what it need not be told is left out.
func (v said) keepStarted(f *folder) error {
	var b strings.Builder
	b.WriteString("# Written at each start, for the commands beside the server. Change " +
		settingsName + " instead.\n")
	for _, s := range settings {
		value := v[s.name]
		if value == "" || value == s.fallback || s.isFlag || s.name == "data" {
			continue
		}
		if slices.Contains(pathSettings, s.name) {
			whole, err := filepath.Abs(value)
			if err != nil {
				return fmt.Errorf("--%s: %w", s.name, err)
			}
			value = whole
		}
		fmt.Fprintf(&b, "%s = %s\n", s.name, value)
	}
	if err := durable.Write(f.file(startedName), []byte(b.String())); err != nil {
		return fmt.Errorf("write down the settings: %w", err)
	}
	return nil
}

// pathSettings name a file or folder, which must be found from elsewhere as well.
var pathSettings = []string{"backups", "tls-cert", "tls-key", "acme-ca"}
