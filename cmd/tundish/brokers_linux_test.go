package main

import (
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"
)

// TestBrokersFound: a real broker, open and closed, is told from what is none.
func TestBrokersFound(t *testing.T) {
	program, err := exec.LookPath("mosquitto")
	if err != nil {
		program = "/usr/sbin/mosquitto" // where Debian has it; not in everybody's path
	}
	if _, err := os.Stat(program); err != nil {
		t.Fatal("no mosquitto here; is Debian's package installed?")
	}
	for _, c := range []struct{ anonymous, says string }{
		{"true", "an MQTT broker, open to all"},
		{"false", "an MQTT broker that wants user and password"},
	} {
		address := freeAddress(t)
		_, port, _ := net.SplitHostPort(address)
		conf := filepath.Join(t.TempDir(), "conf")
		if err := os.WriteFile(conf, []byte("listener "+port+" 127.0.0.1\nallow_anonymous "+c.anonymous+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
		cmd := exec.Command(program, "-c", conf)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = cmd.Process.Kill(); _ = cmd.Wait() })
		b := broker{address: "mqtt://" + address}
		for end := time.Now().Add(10 * time.Second); !b.reached && time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
			b.ask(t.Context())
		}
		if b.says != c.says {
			t.Errorf("anonymous %s: %+v", c.anonymous, b)
		}
	}
}
