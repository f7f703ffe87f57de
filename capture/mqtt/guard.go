package mqtt

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"net"
)

// The packets that a broker may send to one who only listens, by type (MQTT 3.1.1, 2.2.1).
const (
	typeConnack  = 2
	typePublish  = 3
	typeSuback   = 9
	typePingresp = 13
)

// errProtocol is a broker that does not keep to MQTT 3.1.1.
var errProtocol = errors.New("does not keep to MQTT 3.1.1")

// guard stands between the connection and the client library, which takes a packet of any length, up to 256 MB, into
// memory as a whole. It lets pass what a listener may get, and cuts a PUBLISH whose payload is longer than [PayloadLimit]
// to one byte more than that.
type guard struct {
	net.Conn
	in        *bufio.Reader // of Conn
	filters   int           // subscribed to at once: a SUBACK has as many codes
	connected func()        // told when the broker has answered CONNECT
	refused   func(error)   // told what was wrong, since the library hides it

	head []byte // to be given before anything else
	body int    // bytes to be given as they come, after head
	skip int    // bytes to be thrown away after that
}

func (g *guard) Read(p []byte) (int, error) {
	if len(p) == 0 {
		return 0, nil
	}
	for len(g.head) == 0 && g.body == 0 {
		if err := g.packet(); err != nil {
			if errors.Is(err, errProtocol) {
				g.refused(err)
			}
			return 0, err
		}
	}
	if len(g.head) > 0 {
		n := copy(p, g.head)
		g.head = g.head[n:]
		return n, nil
	}
	n, err := g.in.Read(p[:min(len(p), g.body)])
	g.body -= n
	return n, err
}

// packet goes over what is left of the last packet and takes the head of the next.
func (g *guard) packet() error {
	if g.skip > 0 {
		n, err := io.CopyN(io.Discard, g.in, int64(g.skip))
		g.skip -= int(n)
		if err != nil {
			return err
		}
	}
	var first [1]byte
	if _, err := io.ReadFull(g.in, first[:]); err != nil {
		return err
	}
	length, err := g.length()
	if err != nil {
		return err
	}
	switch kind := first[0] >> 4; {
	case kind == typePublish:
		return g.publish(first[0], length)
	case kind == typeConnack && length == 2, kind == typePingresp && length == 0, kind == typeSuback && length == 2+g.filters:
		if kind == typeConnack {
			g.connected()
		}
		g.head, g.body = appendLength(first[:], length), length
		return nil
	default:
		return fmt.Errorf("%w: a packet of type %d with %d bytes", errProtocol, kind, length)
	}
}

// length reads a remaining length (MQTT 3.1.1, 2.2.3): seven bits a byte, lowest first, at most four bytes.
func (g *guard) length() (n int, err error) {
	var b [1]byte
	for i := range 4 {
		if _, err := io.ReadFull(g.in, b[:]); err != nil {
			return 0, err
		}
		n |= int(b[0]&0x7f) << (7 * i)
		if b[0] < 0x80 {
			return n, nil
		}
	}
	return 0, fmt.Errorf("%w: a length of more than four bytes", errProtocol)
}

func appendLength(dst []byte, n int) []byte {
	for n >= 0x80 {
		dst = append(dst, byte(n)|0x80)
		n >>= 7
	}
	return append(dst, byte(n))
}

// publish takes the head of a PUBLISH: topic and, above QoS 0, the packet identifier (MQTT 3.1.1, 3.3.2).
func (g *guard) publish(first byte, length int) error {
	var b [2]byte
	if length < 2 {
		return fmt.Errorf("%w: a message of %d bytes", errProtocol, length)
	}
	if _, err := io.ReadFull(g.in, b[:]); err != nil {
		return err
	}
	rest := int(binary.BigEndian.Uint16(b[:]))
	qos := first >> 1 & 3
	if qos > 0 {
		rest += 2
	}
	payload := length - 2 - rest
	if payload < 0 || qos == 3 {
		return fmt.Errorf("%w: a message whose topic is longer than itself, or of QoS 3", errProtocol)
	}
	kept := min(payload, PayloadLimit+1)
	g.head = append(appendLength([]byte{first}, 2+rest+kept), b[:]...)
	g.body, g.skip = rest+kept, payload-kept
	return nil
}
