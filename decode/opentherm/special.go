package opentherm

import (
	"fmt"
	"strconv"
)

// collectorHighC is the upper end of data id 30, °C (5.3.4).
const collectorHighC = 250

// special explains the ids whose bytes follow no plain type, and those where sources disagree so that both readings
// must be shown. False leaves the frame to the plain types.
func (x *Explanation) special() bool {
	f := x.Frame
	switch f.ID() {
	case 4:
		x.command()
	case 9:
		if f.Word() != 0 {
			return false
		}
		x.say("none imposed (0)")
	case 15:
		return x.capacity()
	case 20:
		x.timeOfDay()
	case 30:
		x.collector()
	case 71, 77, 87:
		x.field(x.Entry.Fields[0])
		x.say("the other reading, f8.8: %s", quantity(FromF88(f.Word()), "%"))
	case 75, 124, 125:
		x.say("%s: %s (f8.8)", x.Entry.Name, quantity(FromF88(f.Word()), ""))
		x.say("the other reading, major and minor byte: %d.%d", f.HB(), f.LB())
	case 93, 94, 95:
		x.character()
	case 100:
		x.overrule()
	default:
		return false
	}
	return true
}

// command explains id 4 (5.3.3; from v2.3B on it is called a request). Codes after 2 are later and from memory.
func (x *Explanation) command() {
	switch c := x.Frame.HB(); {
	case c == 0:
		x.say("command 0: reserved in v2.2; later back to normal operation (from memory)")
	case c == 1:
		x.say("command 1: reset the boiler's lockout")
	case c == 2:
		x.say("command 2: fill the heating water")
	case c <= 9:
		x.say("command %d: reserved in v2.2; later a service or test request (from memory)", c)
	case c == 10:
		x.say("command 10: reserved in v2.2; later reset of the service request (from memory)")
	default:
		x.say("command %d: not known", c)
	}
	r := x.Frame.LB()
	switch {
	case x.Frame.FromMaster():
		if r != 0 {
			x.remark("the response byte is the appliance's to fill, yet the controller sent %02X", r)
		}
	case r >= firstDone:
		x.say("response %d: done", r)
	default:
		x.say("response %d: failed", r)
	}
}

// firstDone is the lowest response code of id 4 that means done; below it the command failed (5.3.3).
const firstDone = 128

// capacity explains id 15 where it states nothing.
func (x *Explanation) capacity() bool {
	f := x.Frame
	if f.HB() == 0 {
		x.remark("a greatest output of 0 kW is taken as not stated")
	}
	if f.HB() == 0 || f.LB() == 0 {
		x.remark("a least modulation of 0 %% is taken as not stated")
	}
	return false
}

// timeOfDay explains id 20: HB bits 7–5 the day, 4–0 the hour; LB the minute (5.3.4).
func (x *Explanation) timeOfDay() {
	day, hour, minute := x.Frame.HB()>>5, x.Frame.HB()&31, x.Frame.LB()
	name := [...]string{"day not known", "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"}[day]
	x.say("%s %02d:%02d", name, hour, minute)
	if hour > 23 {
		x.remark("hour %d is outside the specified range, 0 to 23", hour)
	}
	if minute > 59 {
		x.remark("minute %d is outside the specified range, 0 to 59", minute)
	}
}

// collector explains id 30, whose type is in dispute: the reading that a collector can have comes first.
func (x *Explanation) collector() {
	word := x.Frame.Word()
	whole, fine := FromS16(word), FromF88(word)
	wholeText := quantity(whole, "°C") + " (s16)"
	fineText := quantity(fine, "°C") + " (f8.8)"
	wholeFits := whole >= sensorLowC && whole <= collectorHighC
	fineFits := fine >= sensorLowC && fine <= sensorHighC
	switch {
	case wholeFits:
		x.say("%s: %s is the more plausible", x.Entry.Name, wholeText)
		x.say("the other reading: %s", fineText)
	case fineFits:
		x.say("%s: %s is the more plausible", x.Entry.Name, fineText)
		x.say("the other reading: %s, which no collector reaches", wholeText)
	default:
		x.say("%s: neither %s nor %s is plausible", x.Entry.Name, wholeText, fineText)
	}
}

// character explains the ids that spell a text: HB the index, LB one ASCII character.
func (x *Explanation) character() {
	c := x.Frame.LB()
	text := fmt.Sprintf("%02X, not a printable ASCII character", c)
	if c >= 0x20 && c < 0x7F {
		text = strconv.QuoteRune(rune(c))
	}
	x.say("character %d: %s", x.Frame.HB(), text)
}

// overrule explains id 100: sources disagree on which byte holds the flags. 5.3.8.3 says LB, with HB reserved; an
// HB that is not 0 can only come from a device that uses HB.
func (x *Explanation) overrule() {
	hb, lb := x.Frame.HB(), x.Frame.LB()
	if hb == 0 {
		x.say("flags in LB: %s", flagWords(overruleFlags, lb))
		x.say("the other reading, flags in HB: %s", flagWords(overruleFlags, hb))
		return
	}
	x.say("flags in HB, which is not 0: %s", flagWords(overruleFlags, hb))
	x.say("the other reading, flags in LB: %s", flagWords(overruleFlags, lb))
}
