package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"

	"github.com/evanw/esbuild/pkg/api"
)

// groupWords is a plugin that has the page carry its English words by the part of their keys before
// the dot, and put the keys together when it starts: said 1,500 times over, those beginnings cost a
// phone a kilobyte. The sources and the page see the file as it is written.
func groupWords() api.Plugin {
	return api.Plugin{Name: "words", Setup: func(b api.PluginBuild) {
		b.OnLoad(api.OnLoadOptions{Filter: `[\\/]words[\\/]en\.json$`},
			func(args api.OnLoadArgs) (api.OnLoadResult, error) {
				content, err := os.ReadFile(args.Path)
				if err != nil {
					return api.OnLoadResult{}, err
				}
				script, err := grouped(content)
				return api.OnLoadResult{Contents: &script}, err
			})
	}}
}

// grouped returns a module with the words of a flat JSON file as its default.
func grouped(flat []byte) (string, error) {
	var words map[string]string
	if err := json.Unmarshal(flat, &words); err != nil {
		return "", err
	}
	groups := map[string]map[string]string{}
	for key, text := range words {
		group, rest, _ := strings.Cut(key, ".")
		if groups[group] == nil {
			groups[group] = map[string]string{}
		}
		groups[group][rest] = text
	}
	list, err := json.Marshal(groups) // sorted by key, so that the same words give the same bytes
	return "const words = {}, groups = " + string(list) + ";\n" +
		"for (const a in groups) for (const b in groups[a])" +
		" words[b ? a + '.' + b : a] = groups[a][b];\n" +
		"export default words;\n", err
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
