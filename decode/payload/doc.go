// Package payload decodes messages that came through a broker: a number or a word alone, or JSON with values in it.
//
//	channel   the topic                           house/boiler/flow
//	          or the topic and a mark             house/boiler/flow#retained (see tundish/capture: Retained, Waited, Resent)
//	          or nothing: a line of a file        the payload is then the channel as above, white space, the message
//	payload   a number alone                      61.5
//	          a word alone, for what is 0 or 1    ON
//	          JSON (RFC 8259)                     {"t": {"flow": 61.5, "return": 48}, "at": "2026-01-12T06:30:00Z"}
//
// A path leads into JSON: names with dots between them, [2] for the third element of an array, ["a.b"] for a name that
// holds anything else: t.flow, sensors[0].temp, ["outside temp"].value. One message may give several points.
//
// # When it was
//
// A reading is of the moment at which its message came, or of the sender's time where the job sheet says where that
// stands. A message that the broker had kept (retained) is of unknown age, and gives a reading only with the sender's
// time. One that waited at the broker while the logger was away is of unknown age as well, unless the time away was so
// short ([WaitedMost]) that its reading can stand as a doubtful one. A message that is sent again and whose equal is in
// the record already says nothing new.
//
// A reading may so be dated earlier than its message came, and readings of several messages may not be in order of time;
// whoever needs the order must place those that come more than [AtOnce] after their time. Those that come more than
// [LateMost] after it are for export, not for analysis.
//
// What is not read: NaN and infinities, decimal commas, numbers with a unit behind them, arrays and objects as values,
// JSON deeper than [DepthMost], a name on the path that stands twice in its object.
package payload
