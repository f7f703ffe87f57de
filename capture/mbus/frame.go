package mbus

// Bytes and codes of the link layer (EN 13757-2; MB 5.2).
const (
	ackByte    = 0xE5
	shortStart = 0x10
	longStart  = 0x68
	stopByte   = 0x16

	sndNKE  = 0x40
	reqUD2  = 0x5B
	sndUD   = 0x53
	fcbBit  = 0x20
	rspUD   = 0x08
	rspMask = 0x4F // direction and function of C; the other bits are a slave's flags

	selection = 0x52 // CI: selection by secondary address, low byte first
	selected  = 0xFD // the address of whoever is selected

	// longestFrame is the most bytes that a frame has.
	longestFrame = 255 + 6
)

// request is a frame that may be sent. Only the three functions below make one.
type request struct {
	frame [17]byte
	n     int
	what  string
}

func (r *request) bytes() []byte { return r.frame[:r.n] }

func short(c, a byte, what string) request {
	return request{frame: [17]byte{shortStart, c, a, c + a, stopByte}, n: 5, what: what}
}

// reset is SND_NKE: the link of this address begins anew. To FD it also lets go of who is selected.
func reset(a byte) request { return short(sndNKE, a, "a reset of the link") }

// ask is REQ_UD2: the meter's data.
func ask(a byte, fcb bool) request {
	c := byte(reqUD2)
	if fcb {
		c |= fcbBit
	}
	return short(c, a, "a request for data")
}

// selects is the selection of a meter by its secondary address. It writes nothing into the meter.
func selects(s Secondary) request {
	r := request{n: 17, what: "a selection"}
	r.frame = [17]byte{longStart, 0x0B, 0x0B, longStart, sndUD, selected, selection, s.id[3], s.id[2], s.id[1], s.id[0],
		byte(s.maker), byte(s.maker >> 8), s.version, s.medium}
	for _, b := range r.frame[4:15] {
		r.frame[15] += b
	}
	r.frame[16] = stopByte
	return r
}

// span says how many bytes the long frame has that b begins with; 0: it begins with none. Where b is too short to know,
// it is the least it can be.
func span(b []byte) int {
	switch {
	case b[0] != longStart || len(b) > 1 && b[1] < 3 || len(b) > 2 && b[2] != b[1] || len(b) > 3 && b[3] != longStart:
		return 0
	case len(b) < 2:
		return 9 // start, two lengths, start, three bytes at least, checksum, stop
	}
	return int(b[1]) + 6
}

// sound tells whether b is a long frame whose checksum is right.
func sound(b []byte) bool {
	n := len(b)
	sum := byte(0)
	for _, x := range b[4 : n-2] {
		sum += x
	}
	return b[n-1] == stopByte && b[n-2] == sum
}

// find looks for the first sound long frame in b, which may begin with noise, from an offset on. Where there is none,
// later is the first offset at which one may still begin, once more bytes are there.
func find(b []byte, start int) (from, to, later int) {
	later = len(b)
	for i := start; i < len(b); i++ {
		n := span(b[i:])
		switch {
		case n == 0:
		case len(b)-i < n:
			later = min(later, i)
		case sound(b[i : i+n]):
			return i, i + n, i
		}
	}
	return 0, 0, later
}

// answers tells whether a long frame is a slave's answer with data, and whose address is in it.
func answers(frame []byte) (a byte, ok bool) { return frame[5], frame[4]&rspMask == rspUD }

// identity is the secondary address in an answer's header; false: it has none.
func identity(frame []byte) (id [4]byte, maker uint16, version, medium byte, ok bool) {
	const ciLong, ciFixed, header = 0x72, 0x73, 12
	switch {
	case frame[6] == ciLong && len(frame) >= 7+header+2:
		return [4]byte{frame[10], frame[9], frame[8], frame[7]}, uint16(frame[11]) | uint16(frame[12])<<8, frame[13], frame[14], true
	case frame[6] == ciFixed && len(frame) == 7+16+2:
		return [4]byte{frame[10], frame[9], frame[8], frame[7]}, 0xFFFF, 0xFF, 0xFF, true
	}
	return id, 0, 0, 0, false
}

// follows tells whether more telegrams follow: the records of a variable structure end with DIF 1F, and the maker's own
// data may stand behind it. lengths of data by kind, −1: special (EN 13757-3, 6.3).
func follows(frame []byte) bool {
	d := frame[7 : len(frame)-2]
	switch frame[6] {
	case 0x72, 0x76:
		d = d[min(12, len(d)):]
	case 0x7A:
		d = d[min(4, len(d)):]
	case 0x78:
	default:
		return false
	}
	for len(d) > 0 {
		switch d[0] {
		case 0x1F:
			return true
		case 0x0F:
			return false
		case 0x2F, 0x7F:
			d = d[1:]
			continue
		}
		n := record(d)
		if n <= 0 || n > len(d) {
			return false
		}
		d = d[n:]
	}
	return false
}

// record is the length of the record that d begins with; 0: it cannot be told.
func record(d []byte) int {
	kind, i := d[0]&0xF, 0
	for ; i < len(d) && d[i]&0x80 != 0; i++ {
	}
	i++ // behind the DIFEs: the VIF
	text := i < len(d) && d[i]&0x7F == 0x7C
	for ; i < len(d) && d[i]&0x80 != 0; i++ {
	}
	i++
	if text && i < len(d) {
		i += 1 + int(d[i])
	}
	length := [16]int{0, 1, 2, 3, 4, 4, 6, 8, 0, 1, 2, 3, 4, -1, 6, 0}[kind]
	if kind == 0xF {
		return 0
	}
	if length < 0 {
		if i >= len(d) {
			return 0
		}
		switch v := int(d[i]); {
		case v <= 0xBF:
			length = v
		case v <= 0xEF:
			length = v & 0xF
		case v <= 0xF4:
			length = 4 * (v - 0xEC)
		default:
			return 0
		}
		i++
	}
	return i + length
}
