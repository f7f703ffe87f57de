package capfile_test

import (
	"context"
	"fmt"
	"log"
	"os"
	"path/filepath"
	"time"

	"tundish/capture"
	"tundish/capture/capfile"
)

func Example() {
	dir, err := os.MkdirTemp("", "capture")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, "mill-row.capture")
	if err := record(path); err != nil {
		log.Fatal(err)
	}

	r, err := capfile.Open(path)
	if err != nil {
		log.Fatal(err)
	}
	defer r.Close()
	for rec, err := range r.Records(context.Background(), capfile.Window{}) {
		if err != nil {
			fmt.Println(err) // a damaged block; the records after it still come
			continue
		}
		fmt.Printf("%d %s %s %q\n", rec.Seq, rec.Time.Format(time.RFC3339), rec.Source, rec.Payload)
	}
	proof, err := capfile.Verify(context.Background(), path)
	fmt.Println(proof.Blocks, "blocks", proof.Records, "record", proof.Closed, err)
	// Output:
	// 1 2026-01-12T12:00:01Z boiler "80190000\r\n"
	// 2 blocks 1 record true <nil>
}

func record(path string) error {
	w, err := capfile.Create(path, capfile.Options{})
	if err != nil {
		return err
	}
	run, err := w.StartRun(capfile.RunInfo{Kind: capfile.Record, Program: "example",
		Started: time.Date(2026, 1, 12, 12, 0, 0, 0, time.UTC), Sources: []string{"boiler"}})
	if err != nil {
		return err
	}
	err = w.Append(capture.Record{Run: run, At: time.Second, Source: "boiler", Payload: []byte("80190000\r\n")})
	if err != nil {
		return err
	}
	return w.Close()
}
