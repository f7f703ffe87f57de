// Package mbus reads meters on a wired M-Bus through a level converter on a serial port, one record a telegram.
//
//	10 40 01 41 16            →        the link to meter 1 is reset (SND_NKE)
//	                          ←  E5
//	10 7B 01 7C 16            →        its data, please (REQ_UD2)
//	                          ←  68 L L 68 08 01 72 … CS 16    the record's payload, as received
//	10 5B 01 5C 16            →        the next telegram, where the last one ends with DIF 1F
//
// A meter without a primary address is selected by its number first, with CI 52 at address FD, and let go again after.
// The bit FCB (20 of C) changes with every new request; the same again asks for the last answer once more, which is what
// a retry does. Sources: EN 13757-2; The M-Bus: A Documentation, rev. 4.8 (M-Bus User Group), 5 and 7, here MB.
//
// Only what reads is ever sent: SND_NKE, REQ_UD2 and the selection. The port is held behind a type that takes a [request]
// and nothing else, and requests are made by three functions. No meter is set, no rate switched, no address given.
//
// Each answer costs the meter's battery, and some makers count them: a meter is asked once in [Config.Interval] and no
// more, also when the port was lost in between, and a read that failed is not made up for. Within one read a request that
// was not answered is sent again twice (MB 5.4), after which the meter is given up until its next turn.
//
// What the line delivers besides comes through with a note: damaged answers, what several meters answered at once, bytes
// that nobody asked for. A meter that does not answer is noted once, and once when it answers again.
package mbus
