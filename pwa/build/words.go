package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"sort"
	"strings"

	"github.com/evanw/esbuild/pkg/api"
)

// foldedWords bundles the English words, which the page carries, as lines under headings instead
// of as an object: the first part of a key stands once. A phone fetches about 1,500 bytes less.
var foldedWords = api.Plugin{Name: "words", Setup: func(build api.PluginBuild) {
	build.OnLoad(api.OnLoadOptions{Filter: `/words/en\.json$`},
		func(args api.OnLoadArgs) (api.OnLoadResult, error) {
			content, err := os.ReadFile(args.Path)
			if err != nil {
				return api.OnLoadResult{}, err
			}
			words := map[string]string{}
			if err := json.Unmarshal(content, &words); err != nil {
				return api.OnLoadResult{}, fmt.Errorf("%s: %w", args.Path, err)
			}
			lines, err := fold(words)
			script := unfold + "export default unfold(" + quoted(lines) + ")"
			return api.OnLoadResult{Contents: &script}, err
		})
}}

// unfold is the page's way back from what fold made.
const unfold = `function unfold(lines) {
	const words = {};
	let head;
	for (const line of lines.split("\n")) {
		const space = line.indexOf(" ");
		if (space < 0) head = line && line + ".";
		else words[head + line.slice(0, space)] = line.slice(space + 1);
	}
	return words;
}
`

// fold writes messages by key as lines: a heading, the part of the keys before the first dot, and
// under it the rest of each key, a space and the message; a key without a dot stands under an
// empty heading. The keys are in order.
func fold(words map[string]string) (string, error) {
	keys := make([]string, 0, len(words))
	for key := range words {
		keys = append(keys, key)
	}
	sort.Strings(keys)
	var lines []string
	heading := "none yet"
	for _, key := range keys {
		head, rest, dotted := strings.Cut(key, ".")
		if !dotted {
			head, rest = "", key
		}
		if strings.ContainsAny(key, " \n") || strings.Contains(words[key], "\n") {
			return "", fmt.Errorf("words: %q: a key has no space, a message is one line", key)
		}
		if head != heading {
			lines = append(lines, head)
			heading = head
		}
		lines = append(lines, rest+" "+words[key])
	}
	return strings.Join(lines, "\n"), nil
}

// addWords adds each words file but the English one, which the page carries, and returns the
// addresses by language.
func addWords(s site, dir string) (map[string]string, error) {
	files, err := filepath.Glob(filepath.Join(dir, "*.json"))
	if err != nil {
		return nil, err
	}
	words := map[string]string{}
	for _, file := range files {
		language := strings.TrimSuffix(filepath.Base(file), ".json")
		if language == "en" {
			continue
		}
		content, err := os.ReadFile(file)
		if err != nil {
			return nil, err
		}
		words[language] = s.addAsset("words-"+filepath.Base(file), content)
	}
	return words, nil
}
