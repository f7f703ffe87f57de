package modbus

import (
	"errors"
	"fmt"
	"io"
	"syscall"
	"time"
)

// What makes an answer none. The words go into notes.
const (
	errProtocol unusable = "protocol error" // it is not laid out as an answer to the request
	errUnit     unusable = "bad unit id"
	errChecksum unusable = "bad crc"
)

// unusable is why an answer cannot be used.
type unusable string

func (e unusable) Error() string { return string(e) }

// errTimedOut is an answer that did not come, or not whole, in its time.
var errTimedOut = errors.New("timed out")

// exception is a device's refusal, by its code (MODBUS Application Protocol V1.1b3, 7).
type exception byte

func (e exception) Error() string {
	name, known := map[exception]string{
		0x01: "illegal function",
		0x02: "illegal data address: the device has no such registers, or not all of them",
		0x03: "illegal data value",
		0x04: "server device failure",
		0x05: "acknowledge: the device is still working on it",
		0x06: "server device busy",
		0x08: "memory parity error",
		0x0A: "gateway path unavailable",
		0x0B: "gateway target device failed to respond",
	}[e]
	if !known {
		return fmt.Sprintf("exception %d, which the standard does not name", e)
	}
	return fmt.Sprintf("exception %d, %s", e, name)
}

// explain puts into words why there is no usable answer. The words are the same each time, so that an outage can be
// told once. heard: the device is there.
func explain(err error, timeout time.Duration) (words string, heard bool) {
	if x, ok := errors.AsType[exception](err); ok {
		return x.Error(), true
	}
	if errors.Is(err, errTimedOut) {
		return fmt.Sprintf("no whole answer within %v", timeout), false
	}
	if e, ok := errors.AsType[unusable](err); ok {
		return "answer cannot be used: " + e.Error(), true
	}
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return "the connection was closed instead of an answer", false
	}
	if e, ok := errors.AsType[syscall.Errno](err); ok { // without the addresses, which change
		return "no answer: " + e.Error(), false
	}
	return "no answer: " + err.Error(), false
}
