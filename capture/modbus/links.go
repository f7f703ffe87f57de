package modbus

import (
	"net"
	"time"

	"go.bug.st/serial"
)

// dialWithin is how long a connection may take to be made. Own choice.
const dialWithin = 5 * time.Second

// dial opens the link to the devices.
func (c Config) dial() (*client, error) {
	if c.Host != "" {
		conn, err := net.DialTimeout("tcp", c.Host, dialWithin)
		if err != nil {
			return nil, err
		}
		return &client{link: tcpLink{conn}, timeout: c.Timeout}, nil
	}
	mode := &serial.Mode{BaudRate: c.Baud, DataBits: 8, Parity: serial.EvenParity, StopBits: serial.OneStopBit}
	if mode.BaudRate == 0 {
		mode.BaudRate = 19200 // MODBUS over Serial Line V1.02, 2.5
	}
	switch c.Parity {
	case Odd:
		mode.Parity = serial.OddParity
	case None:
		mode.Parity = serial.NoParity
	}
	if c.StopBits == 2 || c.StopBits == 0 && c.Parity == None {
		mode.StopBits = serial.TwoStopBits
	}
	port, err := serial.Open(c.Port, mode)
	if err != nil {
		return nil, err
	}
	if err := port.ResetInputBuffer(); err != nil {
		_ = port.Close() // the other error says more
		return nil, err
	}
	// 3.5 characters of 11 bits, 1750 µs above 19200 Bd (MODBUS over Serial Line V1.02, 2.5.1.1).
	quiet := max(1750*time.Microsecond, 77*time.Second/time.Duration(2*mode.BaudRate))
	return &client{link: &serialLink{Port: port}, timeout: c.Timeout, rtu: true, quiet: quiet}, nil
}

type tcpLink struct{ net.Conn }

func (l tcpLink) begin(until time.Time) error { return l.SetDeadline(until) }

type serialLink struct {
	serial.Port
	limit time.Time
}

// begin throws away what lies there: it came before the request. A line without bias makes a stray byte when a
// transmitter lets go of it, and nothing in an answer says to which request it belongs.
func (l *serialLink) begin(until time.Time) error {
	l.limit = until
	return l.ResetInputBuffer()
}

func (l *serialLink) Read(b []byte) (int, error) {
	left := time.Until(l.limit)
	if left <= 0 {
		return 0, errTimedOut
	}
	if err := l.SetReadTimeout(max(left, time.Millisecond)); err != nil {
		return 0, err
	}
	n, err := l.Port.Read(b)
	if n == 0 && err == nil { // as the driver says that the time is over
		err = errTimedOut
	}
	return n, err
}
