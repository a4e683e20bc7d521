package portable

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// exact is what package math has that gives the same bits on every processor: constants, functions that
// return the number nearest to the true value, and those that only take a number apart, put it together or
// ask about it.
const exact = `
Pi E Ln2 Ln10 Sqrt2 MaxFloat64 SmallestNonzeroFloat64 MaxInt MaxInt32 MaxInt64 MaxUint32 MaxUint64 MinInt64
Sqrt FMA Ceil Floor Mod Round RoundToEven Trunc Abs Max Min
Copysign Float32bits Float32frombits Float64bits Float64frombits Frexp Inf IsInf IsNaN Ldexp NaN Nextafter Signbit`

// What makes audio or figures uses no function of which the last bits depend on the processor.
func TestOnlyExactFunctions(t *testing.T) {
	allowed := strings.Fields(exact)
	seen := map[string]bool{}
	for _, folder := range []string{"stages", "pipeline", "cmd", "examples/night-ferry"} {
		root := filepath.Join("../..", folder)
		err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			if d.IsDir() && (d.Name() == "stagetest" || path == filepath.Join(root, "trial")) {
				return fs.SkipDir // only tests use the one; the other reckons with what listeners answered
			}
			if strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, "_test.go") {
				lookThrough(t, path, allowed, seen)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range []string{"Sqrt", "FMA", "Round"} {
		if !seen[name] {
			t.Errorf("math.%s was seen nowhere, which stages use", name)
		}
	}
}

func lookThrough(t *testing.T, path string, allowed []string, seen map[string]bool) {
	files := token.NewFileSet()
	f, err := parser.ParseFile(files, path, nil, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	for _, i := range f.Imports {
		// gonum's functions call those of package math.
		if i.Path.Value == `"math/cmplx"` || strings.HasPrefix(i.Path.Value, `"gonum.org/`) ||
			i.Path.Value == `"math"` && i.Name != nil {
			t.Errorf("%s: imports %s: what it calls of package math is not seen", files.Position(i.Pos()),
				i.Path.Value)
		}
	}
	ast.Inspect(f, func(n ast.Node) bool {
		s, ok := n.(*ast.SelectorExpr)
		if !ok {
			return true
		}
		if x, ok := s.X.(*ast.Ident); ok && x.Name == "math" {
			seen[s.Sel.Name] = true
			if !slices.Contains(allowed, s.Sel.Name) {
				t.Errorf("%s: math.%s differs between processors in its last bits: use package portable",
					files.Position(s.Pos()), s.Sel.Name)
			}
		}
		return true
	})
}
