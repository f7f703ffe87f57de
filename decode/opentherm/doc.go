// Package opentherm decodes the telegrams that a room unit (the master) and a boiler (the slave) exchange over an
// OpenTherm bus, as a listening adapter prints them: one telegram a line, as 8 hexadecimal digits.
//
// # The telegram
//
// A conversation is one telegram from the master and one back from the slave. On the line a telegram is 34 bits,
// Manchester-coded at 1000 bit/s: a start bit 1, the 32 bits below with the most significant first, a stop bit 1.
// An adapter that prints text has removed start and stop bit; what is left is a [Frame]:
//
//	 31   30 29 28   27 26 25 24   23 ........ 16   15 ......... 8   7 .......... 0
//	+---+----------+-------------+----------------+----------------+----------------+
//	| P |   type   |  spare, 0   |    data id     |  HB, data byte | LB, data byte  |
//	+---+----------+-------------+----------------+----------------+----------------+
//
//	P     makes the count of ones in all 32 bits even
//	type  0–3 from the master, 4–7 from the slave: bit 30 alone tells the sender
//	HB LB two bytes, or one 16-bit word with HB the more significant byte
//
// # Edition
//
// OpenTherm Protocol Specification v2.2, The OpenTherm Association, 7 February 2003; clause numbers in comments are
// its own. Data ids that were added later are marked as such, see [Origin], and so is what stands here from memory.
//
// # Where to start
//
// [ParseFrame] and [Explain] for one telegram and its meaning in words; [Lookup] for the table of data ids;
// [New] for the [Decoder], which follows the conversation and gives readings; [NewEdges] for the [EdgeDecoder], which
// makes telegrams of level changes and hands them to a Decoder; [NewFrame] to make telegrams; [Frame.Edges] and
// [FromEdges] for the line itself.
//
// # What is left out
//
// OpenTherm/Lite, which has no telegrams; makers' ids 128–255 and makers' fault codes, whose meaning is not public;
// circuit 2, cooling, solar and ventilation are explained but give no readings.
package opentherm
