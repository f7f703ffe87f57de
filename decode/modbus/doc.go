// Package modbus reads values out of Modbus registers, by a register map that the engineer writes from the device's
// manual. It frames nothing: a record's payload is the registers' bytes of one answer, as they came, and its channel
// says which registers they are.
//
//	channel "input 100-103"            table, first and last address (from 0, as on the wire)
//	channel "unit 5 holding 0-1"       the same of another device on the line than the source's own
//	payload 00 C8 | 01 2C | 41 AC | 00 00
//	        100     101     102     103    two bytes a register, as received
//
// A register has 16 bits, high byte first (MODBUS Application Protocol Specification V1.1b3, 4.2). That is all that
// the standard says; in which order the registers of a longer value stand is the maker's choice, and some swap the
// bytes of each register too. The four orders of 21.5 as an IEEE 754 single, 0x41AC0000:
//
//	words big, bytes big         41 AC 00 00
//	words little, bytes big      00 00 41 AC
//	words big, bytes little      AC 41 00 00
//	words little, bytes little   00 00 AC 41
//
// Where a record's registers hold an [Entry], it gives a reading: raw value × Scale + Offset, in the entry's unit,
// turned into the point's own. Registers that no entry names are kept in the record for a better map later.
// Not here: signed BCD, text, and values that do not begin at a register.
//
// A record without a channel is taken for a line of text of the same content, so that files of timed lines can be
// read: "input 100-101 00C8 012C".
package modbus
