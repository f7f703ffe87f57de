// Package onewire decodes 1-Wire thermometers as the Linux kernel gives them: one record is what reading the file
// w1_slave of one probe returned, its channel the probe's folder name ("28-0000a71c01f4").
//
// The file holds the probe's scratchpad, 9 bytes, twice, with the kernel's opinion of the checksum and its own
// conversion:
//
//	91 01 4b 46 7f ff 0f 10 25 : crc=25 YES
//	91 01 4b 46 7f ff 0f 10 25 t=25062
//
// The bytes are what counts; checksum and temperature are worked out here, from
//
//	byte   0    1    2    3    4    5    6    7    8
//	      +----+----+----+----+----+----+----+----+-----+
//	      | temp LSB MSB | TH | TL |conf| -- | *  | ** | CRC-8 of bytes 0–7
//	      +----+----+----+----+----+----+----+----+-----+
//	conf  0 R1 R0 1 1111: 9, 10, 11 or 12 bits
//	*     0C after power-on in older datasheets; DS18S20: count remaining
//	**    10; DS18S20: counts for a degree
//
// A payload that is a number alone is taken for the file temperature: millidegrees, without a checksum.
//
// A record without a channel is taken for a line of text of the same content, so that files of timed lines can be
// read: the probe, white space, and the file with a space where its line ends, its first line alone, or millidegrees:
//
//	28-0000a71c01f4 91 01 4b 46 7f ff 0f 10 25 : crc=25 YES 91 01 4b 46 7f ff 0f 10 25 t=25062
//	28-0000a71c01f4 25062
//
// Families: 28 DS18B20, 22 DS1822, 3B DS1825, 42 DS28EA00 share one scale, 1/16 °C; 10 DS18S20 has another. Sources:
// DS18B20 datasheet (Maxim Integrated); formula of the DS18S20 datasheet, as published code quotes it; kernel
// documentation of w1_therm.
//
// Left out: alarms, thermocouple converters that share family 3B (bit 7 of their byte 4 gives them away: they are
// refused), and any way of talking to the bus.
package onewire
