package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	paho "github.com/eclipse/paho.mqtt.golang"
)

// TestSecretStaysSecret: a broker that wants a password gets it from a file or from the environment, and no file, no log
// line and no output holds it, whether it is right or wrong.
func TestSecretStaysSecret(t *testing.T) {
	const user, secret = "night-logger", "correct-horse-battery"
	passwords := filepath.Join(t.TempDir(), "passwords")
	if out, err := exec.Command("mosquitto_passwd", "-c", "-b", passwords, user, secret).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	m := newMosquitto(t, "allow_anonymous false\npassword_file "+passwords)
	o := paho.NewClientOptions().AddBroker("tcp://" + m.address).SetClientID("sensor").SetUsername(user).SetPassword(secret)
	sensor := paho.NewClient(o)
	if tok := sensor.Connect(); !tok.WaitTimeout(20*time.Second) || tok.Error() != nil {
		t.Fatalf("the sensor does not reach the broker: %v", tok.Error())
	}
	defer sensor.Disconnect(0)
	sheet := fmt.Sprintf("[job]\nname = \"Mill Row 3\"\n[[source]]\nname = \"radio\"\nkind = \"mqtt\"\nbroker = \"mqtt://%s\"\nuser_file = \"user\"\n", m.address)
	topic := "[[source.topic]]\ntopic = \"house/flow\"\npoint = \"flow\"\n"
	for name, c := range map[string]struct {
		key, env, file string
		right          bool
	}{
		"file":        {key: `password_file = "hidden"`, file: secret + "\n", right: true},
		"environment": {key: `password_env = "BROKER_PASSWORD"`, env: "BROKER_PASSWORD=" + secret, right: true},
		"wrong":       {key: `password_env = "BROKER_PASSWORD"`, env: "BROKER_PASSWORD=x" + secret},
	} {
		t.Run(name, func(t *testing.T) {
			l := newLogger(t, sheet+c.key+"\n"+topic)
			if err := os.WriteFile(filepath.Join(l.dir, "user"), []byte(user+"\r\n"), 0o600); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(l.dir, "hidden"), []byte(c.file), 0o600); err != nil {
				t.Fatal(err)
			}
			l.start(c.env)
			if c.right {
				await(t, "a message is lasting", func() bool {
					sensor.Publish("house/flow", 1, false, "61.5").WaitTimeout(time.Second)
					n, _ := l.messages()
					return n > 0
				})
			} else {
				await(t, "it is refused", func() bool { return strings.Contains(l.log(), "user name or password is wrong or missing") })
			}
			l.end(syscall.SIGTERM)
			if c.right {
				l.output("report", "job.capture", "-o", "report.html")
				l.output("export", "job.capture", "-o", "out.csv")
				if out := l.output("analyse", "job.capture", "--json"); strings.Contains(out, secret) {
					t.Error("the analysis holds the password")
				}
			}
			if err := os.Remove(filepath.Join(l.dir, "hidden")); err != nil {
				t.Fatal(err)
			}
			// The program's own file is left aside: it holds this test.
			seen := 0
			for _, e := range must(os.ReadDir(l.dir)) {
				if e.Type().IsRegular() {
					seen++
					if b := must(os.ReadFile(filepath.Join(l.dir, e.Name()))); bytes.Contains(b, []byte(secret)) {
						t.Errorf("%s holds the password", e.Name())
					}
				}
			}
			if seen < 3 {
				t.Errorf("only %d files were looked at", seen)
			}
		})
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}
