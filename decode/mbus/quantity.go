package mbus

// Quantity says what a value is of, as a VIF tells it. The zero Quantity is one that no table here knows.
type Quantity uint8

// The quantities.
const (
	NoQuantity Quantity = iota
	Energy
	Volume
	Mass
	OnTime
	OperatingTime
	Power
	VolumeFlow
	MassFlow
	FlowTemperature
	ReturnTemperature
	TemperatureDifference
	ExternalTemperature
	Pressure
	Date
	DateTime
	HeatCostUnits
	AveragingDuration
	ActualityDuration
	FabricationNumber
	Identification
	BusAddress
	OwnUnit
	AnyQuantity
	MakersOwn
	Credit
	Debit
	AccessNumber
	MediumCode
	ManufacturerCode
	ParameterSet
	ModelVersion
	HardwareVersion
	FirmwareVersion
	SoftwareVersion
	CustomerLocation
	Customer
	ErrorFlags
	ErrorMask
	DigitalOutput
	DigitalInput
	BaudRate
	ResponseDelay
	Retry
	FirstStorage
	LastStorage
	StorageBlockSize
	StorageInterval
	SinceReadOut
	TariffDuration
	TariffPeriod
	Dimensionless
	Voltage
	Current
	ResetCounter
	CumulationCounter
	ControlSignal
	DayOfWeek
	WeekNumber
	DayChange
	ParameterState
	SinceCumulation
	BatteryTime
	BatteryChanged
	TemperatureLimit
	CumulatedMaxPower
	quantityCount
)

var quantityNames = [quantityCount]string{
	"unknown quantity", "energy", "volume", "mass", "on-time", "operating-time", "power", "volume-flow", "mass-flow",
	"flow-temperature", "return-temperature", "temperature-difference", "external-temperature", "pressure", "date",
	"date-time", "heat-cost-units", "averaging-duration", "actuality-duration", "fabrication-number", "identification",
	"bus-address", "own-unit", "any-quantity", "makers-own", "credit", "debit", "access-number", "medium", "manufacturer",
	"parameter-set", "model-version", "hardware-version", "firmware-version", "software-version", "customer-location",
	"customer", "error-flags", "error-mask", "digital-output", "digital-input", "baud-rate", "response-delay", "retry",
	"first-storage", "last-storage", "storage-block-size", "storage-interval", "since-read-out", "tariff-duration",
	"tariff-period", "dimensionless", "voltage", "current", "reset-counter", "cumulation-counter", "control-signal",
	"day-of-week", "week-number", "day-change", "parameter-state", "since-cumulation", "battery-time", "battery-changed",
	"temperature-limit", "cumulated-max-power",
}

// String is the quantity's name in job sheets and tables.
func (q Quantity) String() string { return quantityNames[min(q, quantityCount-1)] }

// bits tells whether a value is a field of bits or an unsigned number, types C and D (EN 13757-3, annex A).
func (q Quantity) bits() bool {
	switch q {
	case ErrorFlags, ErrorMask, DigitalOutput, DigitalInput, AccessNumber, MediumCode, ManufacturerCode:
		return true
	}
	return false
}

// meaning is what one VIF says: the number stands for number × 10^exp of the unit.
type meaning struct {
	quantity Quantity
	unit     string
	exp      int8
}
