package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"net"
	"net/url"
	"strings"
	"sync"
	"time"
)

// broker is an MQTT broker that was asked whether it is there.
type broker struct {
	address string // mqtt://HOST:PORT, as the job sheet wants it
	reached bool
	says    string
}

// brokerPatience is how long a broker may take to answer. Own choice.
const brokerPatience = 3 * time.Second

// localBrokers are asked without being named: this machine's own (ports registered with IANA: mqtt, secure-mqtt).
var localBrokers = []string{"mqtt://localhost:1883", "mqtts://localhost:8883"}

// lookBrokers asks this machine's brokers and those named, side by side. Local ones that are not there are left out.
func lookBrokers(ctx context.Context, named []string) ([]broker, error) {
	var list []broker
	for _, n := range named {
		address, err := brokerAddress(n)
		if err != nil {
			return nil, err
		}
		list = append(list, broker{address: address})
	}
	wanted := len(list)
	for _, l := range localBrokers {
		list = append(list, broker{address: l})
	}
	var wait sync.WaitGroup
	for i := range list {
		wait.Go(func() { list[i].ask(ctx) })
	}
	wait.Wait()
	out := list[:wanted:wanted]
	for _, b := range list[wanted:] {
		if b.reached {
			out = append(out, b)
		}
	}
	return out, nil
}

// brokerAddress reads HOST, HOST:PORT, mqtt://HOST or mqtts://HOST.
func brokerAddress(text string) (string, error) {
	given := text
	if !strings.Contains(text, "://") {
		text = "mqtt://" + text
	}
	u, err := url.Parse(text)
	if err != nil || u.Hostname() == "" || u.Scheme != "mqtt" && u.Scheme != "mqtts" || strings.Trim(u.Path, "/") != "" || u.RawQuery != "" {
		if strings.Contains(given, "@") {
			given = "what was given"
		}
		return "", fmt.Errorf("--broker: %s is no broker; write HOST, HOST:PORT or mqtts://HOST", given)
	}
	if u.User != nil {
		return "", errors.New("--broker: leave user and password out; whether it is there is asked without them")
	}
	port := u.Port()
	switch {
	case port == "" && u.Scheme == "mqtts":
		port = "8883"
	case port == "":
		port = "1883"
	case port == "8883":
		u.Scheme = "mqtts"
	}
	return u.Scheme + "://" + net.JoinHostPort(u.Hostname(), port), nil
}

// connectPacket is an MQTT 3.1.1 CONNECT with a clean session, no will, no user and an empty client name, which the
// broker fills in (3.1.3.1): it leaves nothing behind.
var connectPacket = []byte{0x10, 12, 0, 4, 'M', 'Q', 'T', 'T', 4, 0x02, 0, 30, 0, 0}

// disconnectPacket is MQTT 3.1.1, 3.14.
var disconnectPacket = []byte{0xE0, 0}

// ask connects, as any client does, and goes again.
func (b *broker) ask(ctx context.Context) {
	ctx, stop := context.WithTimeout(ctx, brokerPatience)
	defer stop()
	u, err := url.Parse(b.address)
	if err != nil {
		b.says = err.Error()
		return
	}
	var conn net.Conn
	if u.Scheme == "mqtts" {
		conn, err = (&tls.Dialer{}).DialContext(ctx, "tcp", u.Host)
	} else {
		conn, err = (&net.Dialer{}).DialContext(ctx, "tcp", u.Host)
	}
	var unverified *tls.CertificateVerificationError
	switch {
	case errors.As(err, &unverified):
		b.reached, b.says = true, "answers with TLS, by a certificate that this machine does not trust; name its ca in the job sheet"
		return
	case err != nil:
		b.says = "not reached: " + err.Error()
		return
	}
	defer conn.Close()
	if by, ok := ctx.Deadline(); ok {
		_ = conn.SetDeadline(by)
	}
	b.reached, b.says = greet(conn)
}

// greet says what answers to a CONNECT (MQTT 3.1.1, 3.2: 20 02, flags, return code).
func greet(conn io.ReadWriter) (isBroker bool, says string) {
	if _, err := conn.Write(connectPacket); err != nil {
		return false, "no MQTT broker: " + err.Error()
	}
	var ack [4]byte
	_, err := io.ReadFull(conn, ack[:])
	if err != nil || ack[0] != 0x20 || ack[1] != 2 {
		return false, "something listens there, but no MQTT broker"
	}
	switch ack[3] {
	case 0:
		_, _ = conn.Write(disconnectPacket)
		return true, "an MQTT broker, open to all"
	case 4, 5:
		return true, "an MQTT broker that wants user and password"
	case 3:
		return true, "an MQTT broker, not ready now"
	}
	return true, fmt.Sprintf("an MQTT broker that refuses (code %d)", ack[3])
}
