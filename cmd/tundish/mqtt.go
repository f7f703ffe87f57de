package main

import (
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"

	"tundish/capture"
	"tundish/capture/mqtt"
	"tundish/cmd/tundish/jobsheet"
	"tundish/decode"
	"tundish/decode/payload"
)

// secretMost is the longest user name or password read, in bytes: what the protocol can carry (MQTT 3.1.1, 1.5.3).
const secretMost = 65535

func openMQTT(s *jobsheet.Source, clock capture.Clock) (capture.Source, error) {
	return listenMQTT(s, clock, false)
}

// briefID makes the client identifier of a look beside the logger's own.
func briefID(logger string) string {
	const most = 23 // MQTT 3.1.1, 3.1.3.1: what every broker must take
	return logger[:min(len(logger), most-len("look"))] + "look"
}

// listenMQTT makes a source of messages; brief: for a look beside a logger that may be running.
func listenMQTT(s *jobsheet.Source, clock capture.Clock, brief bool) (capture.Source, error) {
	m := s.MQTT
	switch {
	case m.Address == "":
		return nil, fmt.Errorf("source %q: broker is missing: recording needs broker = \"mqtts://HOST:PORT\"", s.Name)
	case len(m.Topics) == 0:
		return nil, fmt.Errorf("source %q: topic is missing: recording needs [[source.topic]] with topic = \"…\"", s.Name)
	}
	cfg := mqtt.Config{Source: s.Name, Address: m.Address, ClientID: m.ClientID, Topics: m.Topics, Brief: brief}
	if brief {
		cfg.ClientID = briefID(m.ClientID)
	}
	var err error
	if m.Secure {
		if cfg.TLS, err = clientTLS(m); err != nil {
			return nil, fmt.Errorf("source %q: %w", s.Name, err)
		}
	}
	if m.UserFile != "" || m.UserEnv != "" {
		cfg.Login = func() (string, string, error) { return login(m) }
		if _, _, err := cfg.Login(); err != nil { // told before anything is recorded
			return nil, fmt.Errorf("source %q: %w", s.Name, err)
		}
	}
	return mqtt.New(cfg, clock), nil
}

// clientTLS makes the settings of a verified connection.
func clientTLS(m *jobsheet.MQTT) (*tls.Config, error) {
	cfg := &tls.Config{MinVersion: tls.VersionTLS12}
	if m.CA != "" {
		pem, err := os.ReadFile(m.CA)
		if err != nil {
			return nil, fmt.Errorf("ca: %w", err)
		}
		cfg.RootCAs = x509.NewCertPool()
		if !cfg.RootCAs.AppendCertsFromPEM(pem) {
			return nil, fmt.Errorf("ca: %s: holds no certificate in PEM", m.CA)
		}
	}
	if m.Certificate != "" {
		own, err := tls.LoadX509KeyPair(m.Certificate, m.Key)
		if err != nil {
			return nil, fmt.Errorf("certificate and key: %w", err)
		}
		cfg.Certificates = []tls.Certificate{own}
	}
	return cfg, nil
}

// login gives user and password from where the sheet says that they stand. Errors name the key of the sheet and not what
// stands there: it could be the password itself, by mistake.
func login(m *jobsheet.MQTT) (user, password string, err error) {
	if user, err = secret("user", m.UserFile, m.UserEnv); err != nil {
		return "", "", err
	}
	password, err = secret("password", m.PasswordFile, m.PasswordEnv)
	return user, password, err
}

// secret reads one of the two. A line end behind it is none of it. Both names empty: none is wanted.
func secret(what, file, env string) (string, error) {
	if env != "" {
		if v := os.Getenv(env); v != "" {
			return v, nil
		}
		return "", fmt.Errorf("%s_env: the variable that it names is not set, or empty", what)
	}
	if file == "" {
		return "", nil
	}
	in, err := os.Open(file)
	if err != nil {
		if p, ok := errors.AsType[*fs.PathError](err); ok {
			err = p.Err
		}
		return "", fmt.Errorf("%s_file: the file that it names cannot be read: %w", what, err)
	}
	defer in.Close()
	text, err := io.ReadAll(io.LimitReader(in, secretMost+3))
	if err != nil {
		if p, ok := errors.AsType[*fs.PathError](err); ok {
			err = p.Err
		}
		return "", fmt.Errorf("%s_file: the file that it names cannot be read: %w", what, err)
	}
	v := strings.TrimSuffix(strings.TrimSuffix(string(text), "\n"), "\r")
	switch {
	case v == "":
		return "", fmt.Errorf("%s_file: the file that it names is empty", what)
	case len(v) > secretMost || strings.ContainsAny(v, "\r\n\x00"):
		return "", fmt.Errorf("%s_file: the file that it names must hold one line, and nothing else", what)
	}
	return v, nil
}

func decodeMQTT(s *jobsheet.Source, _ *jobsheet.Sheet) (decode.Decoder, error) {
	return payload.New(payload.Config{Source: s.Name, Values: s.MQTT.Values})
}
