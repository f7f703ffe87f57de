package modbus

import (
	"encoding/binary"
	"errors"
	"io"
	"os"
	"time"
)

// link is a connection with a limit of time. Read gives at least one byte or an error, errTimedOut where the limit has
// passed.
type link interface {
	// begin is told before a request until when its answer may come.
	begin(until time.Time) error
	Read([]byte) (int, error)
	Write([]byte) (int, error)
	Close() error
}

// FrameLimit is the longest frame, bytes (MODBUS Messaging on TCP/IP Implementation Guide V1.0b, 4.1: 253 and a header
// of 7), and the most that is kept of an answer that cannot be used.
const FrameLimit = 260

// client asks over a link. Requests are made by request alone, so that nothing but the two functions that read is ever sent.
type client struct {
	link
	timeout time.Duration
	rtu     bool
	id      uint16        // of the latest transaction over TCP
	quiet   time.Duration // between two frames on a serial line
	active  time.Time     // when the line was last in use
	got     []byte        // what came of the answer under way
}

// request is unit, function, first address and number of registers (MODBUS Application Protocol V1.1b3, 6.3 and 6.4).
func request(unit uint8, b Block) []byte {
	out := []byte{unit, byte(ReadHolding)}
	if b.Function == ReadInput {
		out[1] = byte(ReadInput)
	}
	out = binary.BigEndian.AppendUint16(out, b.First)
	return binary.BigEndian.AppendUint16(out, uint16(b.Count))
}

// read asks for one block. got is what came, as it came, where the answer cannot be used.
func (c *client) read(unit uint8, b Block) (registers, got []byte, err error) {
	c.got = c.got[:0]
	ask, answer := request(unit, b), c.answerTCP
	if c.rtu {
		ask, answer = binary.LittleEndian.AppendUint16(ask, crcOf(ask)), c.answerRTU
		time.Sleep(time.Until(c.active.Add(c.quiet)))
	} else {
		c.id++
		head := binary.BigEndian.AppendUint16(nil, c.id)
		head = append(head, 0, 0)
		ask = append(binary.BigEndian.AppendUint16(head, uint16(len(ask))), ask...)
	}
	err = c.begin(time.Now().Add(c.timeout))
	if err == nil {
		_, err = c.Write(ask)
	}
	var pdu []byte
	if err == nil {
		pdu, err = answer()
	}
	c.active = time.Now()
	if err == nil {
		registers, err = meaning(pdu, unit, b)
	}
	switch {
	case err == nil:
		return registers, nil, nil
	case os.IsTimeout(err):
		err = errTimedOut
	}
	return nil, c.got, err
}

// take reads n more bytes.
func (c *client) take(n int) ([]byte, error) {
	at := len(c.got)
	c.got = append(c.got, make([]byte, n)...)
	for have := 0; have < n; {
		k, err := c.Read(c.got[at+have:])
		if have += k; err != nil && have < n {
			c.got = c.got[:at+have]
			if errors.Is(err, io.EOF) && have > 0 {
				err = io.ErrUnexpectedEOF
			}
			return nil, err
		}
	}
	return c.got[at:], nil
}

// answerTCP reads frames until one is of this transaction, and gives it from the unit on.
func (c *client) answerTCP() ([]byte, error) {
	for {
		head, err := c.take(6)
		if err != nil {
			return nil, err
		}
		id, protocol, n := binary.BigEndian.Uint16(head), binary.BigEndian.Uint16(head[2:]), int(binary.BigEndian.Uint16(head[4:]))
		if n < 2 {
			if _, err := c.take(1); err != nil {
				return nil, err
			}
			return nil, errProtocol
		}
		if n > FrameLimit-6 {
			return nil, errProtocol
		}
		pdu, err := c.take(n)
		if err != nil || protocol == 0 && id == c.id {
			return pdu, err
		}
		if len(c.got) > FrameLimit { // of others' answers the latest is enough
			c.got = append(c.got[:0], c.got[len(c.got)-FrameLimit:]...)
		}
	}
}

// answerRTU reads a frame, and gives it without its checksum.
func (c *client) answerRTU() ([]byte, error) {
	head, err := c.take(3)
	if err != nil {
		return nil, err
	}
	n := 0
	switch f := Function(head[1] & 0x7F); {
	case f != ReadHolding && f != ReadInput:
		return nil, errProtocol
	case head[1]&0x80 == 0:
		n = int(head[2])
	}
	if n > 2*Longest {
		return nil, errProtocol
	}
	if _, err := c.take(n + 2); err != nil {
		return nil, err
	}
	frame := c.got[:3+n]
	if binary.LittleEndian.Uint16(c.got[3+n:]) != crcOf(frame) {
		return nil, errChecksum
	}
	return frame, nil
}

// meaning gives the registers of an answer: unit, function, number of bytes, registers.
func meaning(a []byte, unit uint8, b Block) ([]byte, error) {
	if len(a) < 2 {
		return nil, errProtocol
	}
	refused := a[1]&0x80 != 0
	switch {
	case a[0] != unit && !(refused && a[0] == 0xFF): // a gateway answers for what is behind it
		return nil, errUnit
	case Function(a[1]&0x7F) != b.Function || len(a) < 3:
		return nil, errProtocol
	case refused && len(a) == 3:
		return nil, exception(a[2])
	case refused || int(a[2]) != 2*b.Count || len(a) != 3+2*b.Count:
		return nil, errProtocol
	}
	return a[3:], nil
}

// crcOf is the check of RTU frames (MODBUS over Serial Line V1.02, 6.2.2); it is sent low byte first.
func crcOf(frame []byte) uint16 {
	crc := uint16(0xFFFF)
	for _, b := range frame {
		crc ^= uint16(b)
		for range 8 {
			low := crc & 1
			crc >>= 1
			if low == 1 {
				crc ^= 0xA001
			}
		}
	}
	return crc
}
