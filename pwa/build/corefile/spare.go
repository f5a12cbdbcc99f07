package corefile

import (
	"bytes"
	"encoding/json"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// idle lists, by file of Go's own library, functions whose work no phone asks for: execution
// traces, profiles, metrics, settings by environment, self-checks at start, and what is printed
// beside a panic's own text, which says nothing without the names that strip clears. The body
// beside each name is compiled instead; linked, it takes much else with it.
var idle = map[string]map[string]string{
	"internal/cpu/cpu.go": {"processOptions": ""},
	"internal/godebug/godebug.go": {
		"Setting.Value": `return ""`, "Setting.IncNonDefault": "", "init": "",
	},
	// No number of 32 bits crosses the boundary, and none is written in base 16.
	"internal/strconv/atof.go":     {"atof32": `panic("a float32")`},
	"internal/strconv/ftoa.go":     {"fmtX": `panic("a number in base 16")`},
	"internal/strconv/ftoadbox.go": {"dboxFtoa32": `panic("a float32")`},
	// Values are only set to what has their very type.
	"reflect/type.go":     {"haveIdenticalUnderlyingType": `return T == V`},
	"reflect/makefunc.go": {"makeMethodValue": `panic("a method as a value")`},
	"reflect/value.go":    {"valueMethodName": `return "unknown method"`},
	"runtime/error.go": {
		"printanycustomtype": "",
		"boundsError.Error":  `return "runtime error: index or slice bounds out of range"`,
		"panicwrap":          `panic(plainError("a value method called by a nil pointer"))`,
	},
	"runtime/malloc.go":      {"profilealloc": ""},
	"runtime/mcheckmark.go":  {"checkFinalizersAndCleanups": ""},
	"runtime/mbitmap.go":     {"badPointer": `throw("bad pointer")`},
	"runtime/mgcsweep.go":    {"mspan.reportZombies": `throw("freed twice")`},
	"runtime/metrics.go":     {"initMetrics": ""},
	"runtime/mgcmark.go":     {"gcDumpObject": ""},
	"runtime/mgcscavenge.go": {"printScavTrace": ""},
	"runtime/mprof.go": {
		"blockevent": "", "mutexevent": "", "mProf_Malloc": "", "mProf_Free": "",
		"mProf_NextCycle": "", "mProf_Flush": "", "mProf_PostSweep": "",
		"tryRecordGoroutineProfile": "",
	},
	"runtime/os_wasip1.go": {"goenvs": "envs = []string{}"},
	"runtime/proc.go": {
		"schedtrace": "", "dumpgstatus": "", "saveAncestors": "return nil",
		"checkdead": "", // a library waits for its caller
	},
	"runtime/runtime1.go": {"check": "", "parsegodebug": ""},
	"runtime/symtab.go":   {"moduledataverify": ""},
	"runtime/trace.go":    {"traceAdvance": ""},
	"runtime/traceback.go": {
		"traceback1": "", "tracebackothers": "", "tracebackHexdump": "", "goroutineheader": "",
	},
	"runtime/traceruntime.go": {
		"traceEnabled": "return false", "traceAllocFreeEnabled": "return false",
		"traceShuttingDown": "return false", "traceLocker.ok": "return false",
		"traceThreadDestroy": "",
	},
	"runtime/type.go":      {"typelinksinit": ""},
	"strconv/number.go":    {"NumError.Error": `return "strconv: " + e.Err.Error()`},
	"syscall/fs_wasip1.go": {"init": ""}, // there are no folders and no input
}

// spare writes the files of idle with their bodies replaced into the folder and returns the path
// of a list for the compiler's -overlay; library is the folder of Go's sources. The error is
// ErrLayout, wrapped, where they are not those of Go 1.26.
func spare(library, dir string) (string, error) {
	replace := map[string]string{}
	for name, bodies := range idle {
		file := filepath.Join(library, filepath.FromSlash(name))
		source, err := os.ReadFile(file)
		if err != nil {
			return "", err
		}
		changed, err := without(source, bodies)
		if err != nil {
			return "", fmt.Errorf("%s: %w", name, err)
		}
		copied := filepath.Join(dir, strings.ReplaceAll(name, "/", "_"))
		if err := os.WriteFile(copied, changed, 0o600); err != nil {
			return "", err
		}
		replace[file] = copied
	}
	list, err := json.Marshal(map[string]any{"Replace": replace})
	if err != nil {
		return "", err
	}
	at := filepath.Join(dir, "overlay.json")
	return at, os.WriteFile(at, list, 0o600)
}

// without returns the source with the bodies of the named functions replaced, and with a blank
// name for each import that nothing uses any more.
func without(source []byte, bodies map[string]string) ([]byte, error) {
	set := token.NewFileSet()
	tree, err := parser.ParseFile(set, "", source, parser.ParseComments|parser.SkipObjectResolution)
	if err != nil {
		return nil, err
	}
	found := map[string]bool{}
	for _, d := range slices.Backward(tree.Decls) {
		f, isFunc := d.(*ast.FuncDecl)
		if !isFunc || f.Body == nil {
			continue
		}
		if body, isIdle := bodies[nameOf(f)]; isIdle {
			found[nameOf(f)] = true
			from, to := set.Position(f.Body.Lbrace).Offset, set.Position(f.Body.Rbrace).Offset
			source = slices.Concat(source[:from+1], []byte(" "+body+" "), source[to:])
		}
	}
	if len(found) != len(bodies) {
		return nil, fmt.Errorf("%d of %d functions: %w", len(found), len(bodies), ErrLayout)
	}
	return blank(source)
}

// nameOf returns a function's name, a method's with its receiver's type and a point before it.
func nameOf(f *ast.FuncDecl) string {
	if f.Recv == nil {
		return f.Name.Name
	}
	of := f.Recv.List[0].Type
	if star, isPointer := of.(*ast.StarExpr); isPointer {
		of = star.X
	}
	if name, isPlain := of.(*ast.Ident); isPlain {
		return name.Name + "." + f.Name.Name
	}
	return f.Name.Name
}

// blank gives the imports that the source does not use the blank name.
func blank(source []byte) ([]byte, error) {
	set := token.NewFileSet()
	tree, err := parser.ParseFile(set, "", source, parser.ParseComments|parser.SkipObjectResolution)
	if err != nil {
		return nil, err
	}
	used := map[string]bool{}
	ast.Inspect(tree, func(n ast.Node) bool {
		if s, isSelector := n.(*ast.SelectorExpr); isSelector {
			if name, isPlain := s.X.(*ast.Ident); isPlain {
				used[name.Name] = true
			}
		}
		return true
	})
	for _, i := range slices.Backward(tree.Imports) {
		whole, err := strconv.Unquote(i.Path.Value)
		if err != nil {
			return nil, err
		}
		if i.Name == nil && !used[path.Base(whole)] {
			at := set.Position(i.Path.Pos()).Offset
			source = slices.Concat(source[:at], []byte("_ "), source[at:])
		}
	}
	return bytes.Clone(source), nil
}
