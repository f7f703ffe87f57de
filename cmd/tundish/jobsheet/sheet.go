// Package jobsheet reads the job sheet: the TOML file that describes one placement of the logger on one heating
// system. It checks everything and reports all errors of a file at once, each with key, file and line; it never
// guesses.
package jobsheet

import (
	"time"

	"tundish/analyse"
	"tundish/decode"
	"tundish/decode/light"
	"tundish/decode/unit"
)

// Sheet is a job sheet that holds no error.
type Sheet struct {
	File string // as it was named when read
	Text []byte // as it stands in the file
	Job  Job
	Site Site
	// Plant is what analysis needs of [plant] and [site].
	Plant analyse.Plant
	// Codes is the [codes] table: words from the maker's instructions for the appliance's own codes.
	Codes map[int]string
	// Light is the [light] table: what the appliance's indicator light says, from the maker's instructions.
	Light   light.Table
	Sources []Source
}

// Job is the [job] table. All but Name and Zone are printed in the report and used nowhere else.
type Job struct {
	Name                       string
	Zone                       *time.Location
	ZoneGiven                  bool // false: the machine's own zone stands in
	Engineer, Firm, Client     string
	Address, Appliance, Serial string
	Consent, Notes             string
}

// Site is what of the [site] table is not in Plant.
type Site struct {
	House string // a house file beside the job sheet; what it computes stands in Plant.DesignHeatLoss
	// HouseText is that file, word for word; nil until it was read, which is not this package's.
	HouseText []byte
}

// Source is one [[source]].
type Source struct {
	Name string
	Kind string
	Line int    // of [[source]] in the file
	At   string // where it was fitted, in the engineer's words

	Port    string // serial: device path
	Baud    int    // serial: bits a second
	Pattern string // serial: RE2 with a group named frame
	// RaiseLines: serial, hold DTR and RTS up, for adapters that are fed from them or wait for them.
	RaiseLines bool

	Edges *Edges // opentherm-edges; nil for any other kind

	Root     string             // 1-Wire: the kernel's device folder
	Interval time.Duration      // 1-Wire, Modbus: from sweep to sweep; M-Bus: from one read of a meter to its next; 0: the source's default
	Points   map[string]Mapping // 1-Wire: by device folder name

	Table  *Table  // how a file of this source is written that another logger has made; nil: time,POINT,POINT,…
	Modbus *Modbus // modbus-tcp and modbus-rtu; nil for other kinds
	MBus   *MBus   // m-bus; nil for other kinds
	MQTT   *MQTT   // mqtt; nil for other kinds

	Scenario string // simulated
	Seed     uint64 // simulated
	Part     string // simulated: bus or probes
}

// Mapping says what a probe measures.
type Mapping struct {
	Point  decode.Point
	Offset unit.Kelvin // added to what the probe says
	// Accuracy is how far it may be from the water, ±, offset applied; not known: what its kind of chip promises.
	Accuracy analyse.Opt[unit.Kelvin]
	// Paired is the error of the difference to the other probe of the pair that a comparison in the same water left, ±.
	Paired analyse.Opt[unit.Kelvin]
	// PairedOn is the day of that comparison, UTC; zero where it is not given.
	PairedOn time.Time
}

// AnalyseSite is the site as analysis wants it.
func (s *Sheet) AnalyseSite() analyse.Site { return analyse.Site{Job: s.Job.Name, Zone: s.Job.Zone} }

// Source finds a source by name.
func (s *Sheet) Source(name string) (*Source, bool) {
	for i := range s.Sources {
		if s.Sources[i].Name == name {
			return &s.Sources[i], true
		}
	}
	return nil, false
}
