package building

// Result is a house's design heat loss.
type Result struct {
	House    string
	OutsideC float64
	// TotalW is the sum of the rooms: FabricW + VentilationW. Reheat is not in it.
	TotalW, FabricW, VentilationW float64
	// BridgesW is what of FabricW goes through thermal bridges.
	BridgesW float64
	// WPerK is what is lost to outside for each kelvin between inside and outside, W/K, summed room by room.
	WPerK float64
	// Whole is the house as one, with infiltration counted once.
	Whole Whole
	// ReheatW is the extra output to warm up, W; 0 where none was asked for.
	ReheatW float64
	// UncertaintyW is how far TotalW may be off for walls whose U is not well known, ±. They err together, so that it is
	// their sum.
	UncertaintyW float64
	// UncertainU names what UncertaintyW comes of.
	UncertainU  []string
	Rooms       []RoomLoss
	Spaces      []SpaceState
	Assumptions []Assumption
	Warnings    []Problem
}

// Whole is what the whole house takes, after EN 12831:2003 7.2.
type Whole struct {
	TotalW, FabricW, VentilationW float64
	// InsideW is what the rooms give each other, which is left out of FabricW.
	InsideW float64
	// InfiltrationW is the sum of all rooms' infiltration, of which half counts; MinimumW the sum of what hygiene needs;
	// FlowW the sum of what is moved by fans. VentilationW is the larger of the first two, and FlowW.
	InfiltrationW, MinimumW, FlowW float64
}

// RoomLoss is one room's.
type RoomLoss struct {
	Name                                    string
	InsideC                                 float64
	VolumeM3                                float64 // 0: not known
	FloorM2                                 float64 // 0: not known
	AirM3H                                  float64
	FabricW, VentilationW, BridgesW, TotalW float64
	WPerK                                   float64
	ReheatW                                 float64
	UncertaintyW                            float64
	Elements                                []ElementLoss
}

// ElementLoss is one element's, or one opening's.
type ElementLoss struct {
	Name string
	// In names the element that an opening lies in; else empty.
	In     string
	Beyond Beyond
	U      UValue
	UWM2K  float64
	AreaM2 float64 // net
	// OtherC is the temperature on the other side, °C; of what the ground takes, that which gives the same loss.
	OtherC float64
	// LossW is all of it; BridgesW what of it goes through thermal bridges. A gain is below 0.
	LossW, BridgesW float64
	// UncertaintyW is how far LossW may be off for its U, ±; 0: not told.
	UncertaintyW float64

	outwardWK float64
	inside    bool // within the house: not a loss of the whole
}

// Beyond is what lies on the other side of an element.
type Beyond string

const (
	ToOutside     Beyond = "outside"
	ToGround      Beyond = "ground"
	ToUnheated    Beyond = "unheated"
	ToRoom        Beyond = "room"
	ToTemperature Beyond = "temperature"
)

// SpaceState is how cold an unheated space gets.
type SpaceState struct {
	Name string
	// TempC by its own balance; BU as stated or usual, and Balanced says which of the two is told.
	TempC    float64
	BU       float64
	Balanced bool
}
