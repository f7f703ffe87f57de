package capture

// What stands behind a topic in the Channel of a record that came through a broker, where the message is not simply one
// of now. No topic name holds the character # (MQTT 3.1.1, 4.7.1), so that it cannot be taken for a part of it. Without
// such a mark a message came as it was sent.
const (
	// Retained: the broker had kept it as the topic's last word (RETAIN = 1, MQTT 3.1.1, 3.3.1.3). Its age is unknown.
	Retained = "#retained"
	// Waited: it was sent while the logger was away, or may have been, and waited at the broker.
	Waited = "#waited"
	// Resent: the broker had sent it before and got no receipt (DUP = 1, MQTT 3.1.1, 3.3.1.1). It may stand in the
	// capture already.
	Resent = "#resent"
)

// Reached is the note by which a source tells that what was lost is reached again, before anything is delivered: a broker
// has taken the subscription, a port is open. The recorder ends the outage then, and keeps its own word of that instead of
// this one. A source whose device speaks all the time has no need of it.
const Reached = "reached again"
