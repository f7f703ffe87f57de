package serialline

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// TestListenerCannotWrite: what the package keeps of a port can read and close, and no interface in it holds more.
func TestListenerCannotWrite(t *testing.T) {
	l := reflect.TypeFor[listener]()
	for i := range l.NumMethod() {
		if m := l.Method(i).Name; m != "Read" && m != "Close" {
			t.Errorf("listener has the method %s", m)
		}
	}
	for i := range l.NumField() {
		if f := l.Field(i); f.Type.Kind() != reflect.Func {
			t.Errorf("listener holds %s of type %s: only bound functions may be held", f.Name, f.Type)
		}
	}
}

// mayImport says which packages each file may import: those that could reach a port only where it is opened.
var mayImport = map[string][]string{
	"port_linux.go": {"errors", "fmt", "io", "os", "time", "golang.org/x/sys/unix"},
	"port_other.go": {"errors", "fmt", "io/fs", "go.bug.st/serial"},
	"":              {"bytes", "context", "errors", "fmt", "io/fs", "runtime", "time", "tundish/capture"},
}

// mayUse is all that the two files use of those packages and of the open port, whichever platform they are for.
var mayUse = []*regexp.Regexp{
	regexp.MustCompile(`^unix\.(Open|Close|O_RDONLY|O_NOCTTY|O_NONBLOCK|O_CLOEXEC|EBUSY|EIO|IoctlGetTermios|IoctlSetTermios|IoctlSetPointerInt|IoctlSetInt)$`),
	regexp.MustCompile(`^unix\.(TCGETS|TCSETS|TIOCMBIC|TIOCMBIS|TIOCM_DTR|TIOCM_RTS|TIOCEXCL|Termios|HUPCL|CS8|CREAD|CLOCAL|VMIN|VTIME|B[0-9]+)$`),
	regexp.MustCompile(`^os\.(NewFile|File|ErrDeadlineExceeded)$`),
	regexp.MustCompile(`^serial\.(Open|Mode|ModemOutputBits|PortError|InvalidSerialPort|PortClosed|PermissionDenied|PortBusy|InvalidSpeed)$`),
	regexp.MustCompile(`^(f\.(Read|Close|SetReadDeadline)|p\.(Read|Close|SetReadTimeout)|pe\.Code|mode\.InitialStatusBits)$`),
	regexp.MustCompile(`^(errors\.\w+|fmt\.Errorf|io\.EOF|fs\.ErrPermission|time\.Now|.+\.Add)$`),
	regexp.MustCompile(`^(cfg\.(Port|Baud|RaiseLines)|t\.(Iflag|Oflag|Lflag|Cflag|Ispeed|Ospeed|Cc))$`),
}

// TestNothingWritesToAPort looks at the text of all files, those for other platforms too: whatever is used of a port, and
// of the packages that can reach one, stands in the lists above.
func TestNothingWritesToAPort(t *testing.T) {
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	looked := 0
	err = filepath.WalkDir(".", func(path string, d os.DirEntry, err error) error {
		if err == nil && d.IsDir() && path != "." && d.Name() != "testdata" {
			t.Errorf("folder %s: this test does not look into it", path)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		looked++
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		imports, opens := mayImport[name]
		if !opens {
			imports = mayImport[""]
		}
		for _, i := range file.Imports {
			path, err := strconv.Unquote(i.Path.Value)
			if err != nil || !slices.Contains(imports, path) || i.Name != nil {
				t.Errorf("%s imports %s", set.Position(i.Pos()), i.Path.Value)
			}
		}
		ast.Inspect(file, func(n ast.Node) bool {
			s, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			x, ok := s.X.(*ast.Ident)
			use := "(…)." + s.Sel.Name
			if ok {
				use = x.Name + "." + s.Sel.Name
			}
			if strings.HasPrefix(s.Sel.Name, "Write") || strings.HasPrefix(s.Sel.Name, "Fprint") {
				t.Errorf("%s: %s", set.Position(s.Pos()), use)
			}
			if opens && !slices.ContainsFunc(mayUse, func(r *regexp.Regexp) bool { return r.MatchString(use) }) {
				t.Errorf("%s: %s is not among what may be used of a port", set.Position(s.Pos()), use)
			}
			return true
		})
	}
	if looked < 5 {
		t.Errorf("only %d files were looked at", looked)
	}
}
