package mqtt

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"math/big"
	"net"
	"testing"
	"time"

	"tundish/capture"
)

// authority signs certificates for a test.
type authority struct {
	t    *testing.T
	cert *x509.Certificate
	key  *ecdsa.PrivateKey
}

func newAuthority(t *testing.T) authority {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	a := authority{t: t, key: key}
	a.cert = a.sign(&x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "test authority"}, IsCA: true,
		BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign}, key).Leaf
	return a
}

// sign completes a certificate and signs it; without a certificate of its own the authority signs itself.
func (a authority) sign(c *x509.Certificate, key *ecdsa.PrivateKey) tls.Certificate {
	c.NotBefore = time.Now().Add(-2 * time.Hour)
	if c.NotAfter.IsZero() {
		c.NotAfter = time.Now().Add(time.Hour)
	}
	parent := a.cert
	if parent == nil {
		parent = c
	}
	der, err := x509.CreateCertificate(rand.Reader, c, parent, &key.PublicKey, a.key)
	if err != nil {
		a.t.Fatal(err)
	}
	leaf, err := x509.ParseCertificate(der)
	if err != nil {
		a.t.Fatal(err)
	}
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key, Leaf: leaf}
}

// issue makes a certificate for a client or a server.
func (a authority) issue(c x509.Certificate) tls.Certificate {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		a.t.Fatal(err)
	}
	c.SerialNumber = big.NewInt(2)
	return a.sign(&c, key)
}

func (a authority) pool() *x509.CertPool {
	p := x509.NewCertPool()
	p.AddCert(a.cert)
	return p
}

func TestTLS(t *testing.T) {
	a, other := newAuthority(t), newAuthority(t)
	here := []net.IP{net.IPv4(127, 0, 0, 1)}
	good := a.issue(x509.Certificate{IPAddresses: here})
	client := a.issue(x509.Certificate{ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageClientAuth}})
	for _, c := range []struct {
		name   string
		server *tls.Config
		client *tls.Config
		want   string // empty: it connects
	}{
		{"verified", &tls.Config{Certificates: []tls.Certificate{good}}, &tls.Config{RootCAs: a.pool()}, ""},
		{"a client certificate", &tls.Config{Certificates: []tls.Certificate{good}, ClientAuth: tls.RequireAndVerifyClientCert, ClientCAs: a.pool()},
			&tls.Config{RootCAs: a.pool(), Certificates: []tls.Certificate{client}}, ""},
		{"no client certificate", &tls.Config{Certificates: []tls.Certificate{good}, ClientAuth: tls.RequireAndVerifyClientCert, ClientCAs: a.pool()},
			&tls.Config{RootCAs: a.pool()}, "certificate required"},
		{"an unknown authority", &tls.Config{Certificates: []tls.Certificate{good}}, &tls.Config{RootCAs: other.pool()}, "signed by nobody known here"},
		{"the machine's authorities", &tls.Config{Certificates: []tls.Certificate{good}}, &tls.Config{}, "signed by nobody known here"},
		{"nobody can switch it off", &tls.Config{Certificates: []tls.Certificate{good}}, &tls.Config{InsecureSkipVerify: true}, "signed by nobody known here"},
		{"another name", &tls.Config{Certificates: []tls.Certificate{a.issue(x509.Certificate{DNSNames: []string{"broker.example"}})}},
			&tls.Config{RootCAs: a.pool()}, "its certificate is for another name"},
		{"expired", &tls.Config{Certificates: []tls.Certificate{a.issue(x509.Certificate{IPAddresses: here, NotAfter: time.Now().Add(-time.Hour)})}},
			&tls.Config{RootCAs: a.pool()}, "its certificate is not valid now"},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBroker(t, func(b *broker) { b.tls = c.server })
			cfg := b.config("house/flow")
			cfg.TLS = c.client
			l := listen(t, New(cfg, capture.StartClock()), false)
			if c.want != "" {
				says(t, l.end(), "", b.address, c.want)
				return
			}
			b.publish(t, "house/flow", []byte("20"), false)
			l.expect("house/flow 20")
		})
	}
	t.Run("no TLS there", func(t *testing.T) {
		b := newBroker(t, nil)
		cfg := b.config("house/flow")
		cfg.TLS = &tls.Config{}
		says(t, listen(t, New(cfg, capture.StartClock()), false).end(), "", b.address, "TLS")
	})
	t.Run("TLS there, none here", func(t *testing.T) {
		b := newBroker(t, func(b *broker) { b.tls = &tls.Config{Certificates: []tls.Certificate{good}} })
		says(t, listen(t, New(b.config("house/flow"), capture.StartClock()), false).end(), "", b.address)
	})
}
