package modbus

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"syscall"
	"time"

	"github.com/simonvetter/modbus"
)

// exceptions are the exception codes (MODBUS Application Protocol V1.1b3, 7) by the library's errors.
var exceptions = []struct {
	err  error
	code int
	name string
}{
	{modbus.ErrIllegalFunction, 0x01, "illegal function"},
	{modbus.ErrIllegalDataAddress, 0x02, "illegal data address: the device has no such registers, or not all of them"},
	{modbus.ErrIllegalDataValue, 0x03, "illegal data value"},
	{modbus.ErrServerDeviceFailure, 0x04, "server device failure"},
	{modbus.ErrAcknowledge, 0x05, "acknowledge: the device is still working on it"},
	{modbus.ErrServerDeviceBusy, 0x06, "server device busy"},
	{modbus.ErrMemoryParityError, 0x08, "memory parity error"},
	{modbus.ErrGWPathUnavailable, 0x0A, "gateway path unavailable"},
	{modbus.ErrGWTargetFailedToRespond, 0x0B, "gateway target device failed to respond"},
}

// unknownException is how the error for a code that the standard does not have begins.
const unknownException = "unknown exception code"

// exceptionError is the error of an exception code.
func exceptionError(code byte) error {
	for _, x := range exceptions {
		if x.code == int(code) {
			return x.err
		}
	}
	return fmt.Errorf("%s (%d)", unknownException, code)
}

// exceptionOf says which exception an error is; empty: none.
func exceptionOf(err error) string {
	for _, x := range exceptions {
		if errors.Is(err, x.err) {
			return fmt.Sprintf("exception %d, %s", x.code, x.name)
		}
	}
	if code, is := strings.CutPrefix(err.Error(), unknownException); is {
		return "exception " + strings.Trim(code, " ()") + ", which the standard does not name"
	}
	return ""
}

// explain puts into words why there is no usable answer. The words are the same each time, so that an outage can be
// told once. heard: the device is there.
func explain(err error, timeout time.Duration) (words string, heard bool) {
	if x := exceptionOf(err); x != "" {
		return x, true
	}
	if errors.Is(err, modbus.ErrRequestTimedOut) {
		return fmt.Sprintf("no whole answer within %v", timeout), false
	}
	if e, ok := errors.AsType[modbus.Error](err); ok {
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
