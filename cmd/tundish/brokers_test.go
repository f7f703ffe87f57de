package main

import (
	"context"
	"net"
	"strings"
	"testing"
)

// TestBrokerAnswers: return codes of MQTT 3.1.1, table 3.1; and what is no broker.
func TestBrokerAnswers(t *testing.T) {
	for answer, want := range map[string]string{
		"\x20\x02\x00\x00": "an MQTT broker, open to all",
		"\x20\x02\x00\x05": "an MQTT broker that wants user and password",
		"\x20\x02\x00\x03": "an MQTT broker, not ready now",
		"\x20\x02\x00\x02": "an MQTT broker that refuses (code 2)",
		"SSH-2.0-x\r\n":    "something listens there, but no MQTT broker",
		"":                 "something listens there, but no MQTT broker",
	} {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			t.Fatal(err)
		}
		defer l.Close()
		go func() {
			conn, err := l.Accept()
			if err == nil {
				_, _ = conn.Read(make([]byte, 64))
				_, _ = conn.Write([]byte(answer))
				_ = conn.Close()
			}
		}()
		b := broker{address: "mqtt://" + l.Addr().String()}
		if b.ask(t.Context()); b.says != want {
			t.Errorf("%q: %+v", answer, b)
		}
	}
}

// TestLocalBrokersOnly: without --broker nothing but this machine is asked.
func TestLocalBrokersOnly(t *testing.T) {
	for _, l := range localBrokers {
		if !strings.Contains(l, "//localhost:") {
			t.Error(l)
		}
	}
	list, err := lookBrokers(context.Background(), []string{"127.0.0.1:1"})
	if err != nil || len(list) == 0 || list[0].reached || !strings.HasPrefix(list[0].says, "not reached") {
		t.Errorf("%+v, %v", list, err)
	}
}
