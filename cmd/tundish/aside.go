package main

import (
	"bufio"
	"errors"
	"io"
	"os"
	"path/filepath"
)

// writeAside writes a file so that it stands under its name only when it is whole: beside it first, then synced and
// renamed. After an error nothing is left.
func writeAside(path string, write func(io.Writer) error) error {
	f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+".*")
	if err != nil {
		return err
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
		return err
	}
	return os.Rename(f.Name(), path)
}
