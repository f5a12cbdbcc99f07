package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path"
	"path/filepath"
	"strings"

	"github.com/evanw/esbuild/pkg/api"
)

// engines are the oldest browsers the bundles are written for: Web Locks, module-free workers and
// strict IndexedDB all stand in these.
var engines = []api.Engine{
	{Name: api.EngineChrome, Version: "100"},
	{Name: api.EngineFirefox, Version: "100"},
	{Name: api.EngineSafari, Version: "15.4"},
}

func options(entry string) api.BuildOptions {
	return api.BuildOptions{
		EntryPoints:       []string{entry},
		Bundle:            true,
		Format:            api.FormatIIFE,
		Engines:           engines,
		MinifyWhitespace:  true,
		Charset:           api.CharsetUTF8,
		MinifyIdentifiers: true,
		MinifySyntax:      true,
		JSX:               api.JSXAutomatic,
		JSXImportSource:   "preact",
		Loader:            map[string]api.Loader{".woff2": api.LoaderFile},
		Define:            map[string]string{"process.env.NODE_ENV": `"production"`},
		LegalComments:     api.LegalCommentsNone,
		Outdir:            filepath.Join(os.TempDir(), "assets"), // names only: nothing is written
		PublicPath:        "/assets/",
		EntryNames:        "[name]",
		AssetNames:        "[name].[hash]",
	}
}

func build(o api.BuildOptions) ([]api.OutputFile, error) {
	result := api.Build(o)
	if len(result.Errors) > 0 {
		text := api.FormatMessages(result.Errors, api.FormatMessagesOptions{})
		return nil, errors.New(strings.Join(text, ""))
	}
	return result.OutputFiles, nil
}

// bundleScript bundles one entry into one script; define replaces names of the source by values.
func bundleScript(entry string, define map[string]string) ([]byte, error) {
	o := options(entry)
	for name, value := range define {
		o.Define[name] = value
	}
	files, err := build(o)
	if err != nil {
		return nil, err
	}
	if len(files) != 1 {
		return nil, fmt.Errorf("%s: want one script, got %d files", entry, len(files))
	}
	return files[0].Contents, nil
}

// pageFiles are the addresses the first document names.
type pageFiles struct {
	boot, script, style string
	fonts               []string
}

// bundlePage bundles the page's script, style and fonts into s; words are the addresses of the
// languages that are fetched when wanted.
func bundlePage(entry string, s site, words map[string]string) (pageFiles, error) {
	list, err := json.Marshal(words)
	if err != nil {
		return pageFiles{}, err
	}
	o := options(entry)
	o.Define["WORDS"] = string(list)
	o.Plugins = []api.Plugin{groupWords()}
	files, err := build(o)
	if err != nil {
		return pageFiles{}, err
	}
	var page pageFiles
	for _, file := range files {
		name := filepath.Base(file.Path)
		switch path.Ext(name) {
		case ".js":
			page.script = s.addAsset(name, file.Contents)
		case ".css":
			page.style = s.addAsset(name, file.Contents)
		default: // fonts: the style already names them by their hash
			s["assets/"+name] = file.Contents
			page.fonts = append(page.fonts, "/assets/"+name)
		}
	}
	if page.script == "" || page.style == "" {
		return pageFiles{}, fmt.Errorf("%s: the page needs a script and a style", entry)
	}
	return page, nil
}

// bundleTests bundles every *.test.ts of the sources for node, one file each, into dir.
func bundleTests(pwa, dir string) error {
	var entries []string
	err := filepath.WalkDir(filepath.Join(pwa, "src"), func(p string, _ os.DirEntry, err error) error {
		if strings.HasSuffix(p, ".test.ts") || strings.HasSuffix(p, ".test.tsx") {
			entries = append(entries, p)
		}
		return err
	})
	if err != nil {
		return err
	}
	if err := os.RemoveAll(dir); err != nil {
		return err
	}
	o := options("")
	o.EntryPoints = entries
	o.Platform = api.PlatformNode
	o.Format = api.FormatESModule
	o.Engines = []api.Engine{{Name: api.EngineNode, Version: "20"}}
	o.MinifyWhitespace, o.MinifyIdentifiers, o.MinifySyntax = false, false, false
	o.OutExtension = map[string]string{".js": ".mjs"}
	o.EntryNames = "[dir]/[name]"
	o.Outdir = dir
	o.Write = true
	_, err = build(o)
	return err
}
