// Package mbus decodes wired M-Bus: what heat meters, and meters of other things, answer when they are read. One record
// is one telegram, its channel the meter's name in the job sheet.
//
// Link layer (EN 13757-2; The M-Bus: A Documentation, rev. 4.8, 5.2):
//
//	E5                                      single character: acknowledged
//	10 | C | A | CS | 16                    short frame
//	68 | 3 | 3 | 68 | C | A | CI | CS | 16  control frame
//	68 | L | L | 68 | C | A | CI | data … | CS | 16
//	            L = 3 + data bytes; CS = sum of C to the last data byte, modulo 256
//
// Application layer (EN 13757-3; same documentation, 6 and 8), behind CI 72 a header of 12 bytes, behind 7A one of 4,
// behind 78 none:
//
//	id 4 (BCD) | manufacturer 2 | version | medium | access number | status | configuration 2
//	access number | status | configuration 2
//
// then records, low byte first:
//
//	DIF | DIFE 0–10 | VIF | VIFE 0–10 | data
//	DIF   7 more  6 storage, lowest bit  5–4 function  3–0 kind of data
//	DIFE  7 more  6 subunit  5–4 tariff  3–0 storage, the next four bits
//	VIF   7 more  6–0 quantity, unit and decade; FB, FD: the next byte has it by a second table
//
// CI 73 with 16 bytes is the older fixed structure: id, access number, status, two units, two counters.
//
// What a value is of is its quantity with its unit; [Key] adds function, storage, tariff and subunit. Only what a meter
// says of now, in total, may become a reading; all else is a [decode.Named]. A value of another function, storage, tariff
// or subunit becomes a reading only where the job sheet says which.
//
// Sources: EN 13757-2:2018, EN 13757-3:2018 and EN 13757-7:2018 as cited by table and clause in general-purpose
// libraries; The M-Bus: A Documentation, rev. 4.8 (M-Bus User Group), here MB. Not read: the EN standards' own text.
//
// Left out: encrypted telegrams (they are counted, never guessed at), compact frames, wireless layers. A meter's clock is
// in local time and drifts: it is a named value, and a reading has the time at which its telegram came.
package mbus
