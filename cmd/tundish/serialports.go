package main

// serialPort is a port that an adapter may be on. It is named, never opened: opening moves the modem lines.
type serialPort struct {
	path string // the most stable name there is
	is   string // what the name stands for now; empty: itself
}
