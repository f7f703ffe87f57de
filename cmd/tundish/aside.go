package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// writeAside writes a file so that it stands under its name only when it is whole: beside it first, then synced and
// renamed. After an error nothing is left.
func writeAside(path string, write func(io.Writer) error) error {
	if err := checkFolder(path); err != nil {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(path), asideName(path)+"*")
	if err != nil {
		return underName(path, err)
	}
	defer os.Remove(f.Name()) // does nothing once it is renamed
	b := bufio.NewWriterSize(f, 1<<16)
	err = write(b)
	if err == nil {
		err = b.Flush()
	}
	if err == nil {
		err = f.Chmod(0o644)
	}
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return underName(path, err)
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	syncFolder(path)
	return nil
}

// asideName is how the name of a file begins while it is not whole.
func asideName(path string) string { return "." + filepath.Base(path) + "." }

// underName names the file that was asked for where an error names the one aside.
func underName(path string, err error) error {
	var e *fs.PathError
	if errors.As(err, &e) && filepath.Dir(e.Path) == filepath.Dir(path) {
		return fmt.Errorf("%s: %w", path, e.Err)
	}
	return err
}

// checkFolder says in what folder a file cannot be written, before any work is done.
func checkFolder(path string) error {
	dir := filepath.Dir(path)
	info, err := os.Stat(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return usagef("%s: there is no folder %s", path, dir)
	case err == nil && !info.IsDir():
		return usagef("%s: %s is no folder", path, dir)
	}
	return nil
}

// syncFolder makes a file's name as lasting as its content, where the system can; where it cannot, the file is there
// all the same.
func syncFolder(path string) {
	if d, err := os.Open(filepath.Dir(path)); err == nil {
		_ = d.Sync()
		_ = d.Close()
	}
}

// count says how many there are: "1 record", "3 records".
func count[N ~int | ~uint64](n N, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}
