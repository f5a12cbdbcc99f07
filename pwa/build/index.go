package main

import (
	"fmt"
	"os"
	"regexp"
	"strings"
)

// addIndex fills the addresses of the other files into the first document.
func addIndex(s site, file string, page pageFiles) error {
	text, err := os.ReadFile(file)
	if err != nil {
		return err
	}
	var fonts strings.Builder
	for _, url := range page.fonts {
		fmt.Fprintf(&fonts, `<link rel="preload" href="%s" as="font" type="font/woff2" crossorigin>`, url)
	}
	html := strings.NewReplacer(
		"{boot}", page.boot,
		"{script}", page.script,
		"{style}", page.style,
		"{fonts}", fonts.String(),
	).Replace(string(text))
	if left := regexp.MustCompile(`\{[a-z]+\}`).FindString(html); left != "" {
		return fmt.Errorf("index.html: nothing known for %s", left)
	}
	s["index.html"] = []byte(html)
	return nil
}
