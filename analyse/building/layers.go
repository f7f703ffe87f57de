package building

import "math"

// Layer is one layer of a construction. It is told in exactly one way: thickness and conductivity (or a material of
// the library), a resistance, or the thickness of an air layer.
type Layer struct {
	Material        string  // of the library; gives the conductivity
	ThicknessM      float64 // m
	ConductivityWMK float64 // W/mK
	ResistanceM2KW  float64 // m²K/W
	AirM            float64 // m, of an unventilated air layer
	// Bridge is what else lies in the layer: studs, joists, mortar. Nil: nothing.
	Bridge *Bridge
}

// Bridge is a second material beside a layer's own, over the layer's whole thickness.
type Bridge struct {
	// Name tells which bridges are one member that goes through several layers: same name, one behind the other. Bridges
	// without a name lie anywhere.
	Name            string
	Material        string
	ConductivityWMK float64
	Share           float64 // of the area, between 0 and 1
}

// UValue is a computed U-value with what it is made of.
type UValue struct {
	UWM2K float64
	// UpperM2KW and LowerM2KW are the limits of the whole resistance (EN ISO 6946:2017 6.7.2), surfaces and all, m²K/W;
	// the resistance is their mean. Without bridges they are one.
	UpperM2KW, LowerM2KW float64
	// InsideM2KW and FarM2KW are the two surfaces', m²K/W.
	InsideM2KW, FarM2KW float64
	// LayersM2KW are the layers' own, m²K/W, in order; of a bridged one as in the lower limit.
	LayersM2KW []float64
}

// conductivity is the layer's own, W/mK; 0 where none is known.
func (l Layer) conductivity() float64 {
	if l.ConductivityWMK != 0 {
		return l.ConductivityWMK
	}
	return materials[l.Material].ConductivityWMK
}

func (b Bridge) conductivity() float64 {
	if b.ConductivityWMK != 0 {
		return b.ConductivityWMK
	}
	return materials[b.Material].ConductivityWMK
}

// own is the resistance of the layer beside its bridge.
func (l Layer) own(d direction) float64 {
	switch {
	case l.ResistanceM2KW > 0:
		return l.ResistanceM2KW
	case l.AirM > 0:
		return airResistance(l.AirM, d)
	}
	return l.ThicknessM / l.conductivity()
}

// thickness is how deep the layer is, m; 0 where only its resistance is told.
func (l Layer) thickness() float64 { return l.ThicknessM + l.AirM }

// layersU computes a U-value by the combined method of EN ISO 6946: layers are sound ([Build] checks them).
func layersU(layers []Layer, insideR, farR float64, d direction) UValue {
	u := UValue{InsideM2KW: insideR, FarM2KW: farR, LowerM2KW: insideR + farR}
	for _, l := range layers {
		r := l.own(d)
		if b := l.Bridge; b != nil {
			r = 1 / ((1-b.Share)/r + b.Share*b.conductivity()/l.thickness())
		}
		u.LayersM2KW = append(u.LayersM2KW, r)
		u.LowerM2KW += r
	}
	u.UpperM2KW = upperLimit(layers, insideR+farR, d)
	u.UWM2K = 2 / (u.UpperM2KW + u.LowerM2KW)
	return u
}

// mostMembers bounds the paths of the upper limit: with k members that lie anywhere there are 2^k.
const mostMembers = 10

// members numbers the bridges of the layers: one for each name, and one for each bridge without; −1: no bridge.
func members(layers []Layer) (of []int, shares []float64) {
	named := map[string]int{}
	for _, l := range layers {
		if l.Bridge == nil {
			of = append(of, -1)
			continue
		}
		i, known := named[l.Bridge.Name]
		if !known || l.Bridge.Name == "" {
			i = len(shares)
			named[l.Bridge.Name] = i
			shares = append(shares, l.Bridge.Share)
		}
		of = append(of, i)
	}
	return of, shares
}

// upperLimit takes heat to flow straight through: each way through the layers side by side.
func upperLimit(layers []Layer, surfaces float64, d direction) float64 {
	of, shares := members(layers)
	conductance := 0.0
	for path := range 1 << min(len(shares), mostMembers) {
		share, r := 1.0, surfaces
		for i, s := range shares {
			if path&(1<<i) != 0 {
				share *= s
			} else {
				share *= 1 - s
			}
		}
		for i, l := range layers {
			if m := of[i]; m >= 0 && path&(1<<m) != 0 {
				r += l.thickness() / l.Bridge.conductivity()
			} else {
				r += l.own(d)
			}
		}
		conductance += share / r
	}
	return 1 / conductance
}

// WindowU is the U-value of a whole window, W/m²K (EN ISO 10077-1): pane and frame by their shares of the area, and the
// pane's edge.
func WindowU(areaM2, frameShare, paneU, frameU, edgeWMK, edgeM float64) float64 {
	return (1-frameShare)*paneU + frameShare*frameU + edgeWMK*edgeM/areaM2
}

// Ground is a slab on the ground without edge insulation (EN ISO 13370:2017, slab-on-ground floors): the whole slab, whichever of it lies
// under a room.
type Ground struct {
	AreaM2     float64 // of the whole slab
	PerimeterM float64 // where it meets outside or an unheated space
	WallM      float64 // full thickness of the outside walls; 0: [defaultWallM]
	SoilWMK    float64 // conductivity of the soil; 0: [defaultSoilWMK]
}

// Defaults of a slab.
const (
	// defaultSoilWMK is clay or silt, W/mK. Source: EN ISO 13370:2017 table 7, from memory (sand or gravel 2.0, rock 3.5).
	defaultSoilWMK = 1.5
	// defaultWallM is the thickness of a house's outside walls, m. Common practice, no source.
	defaultWallM = 0.30
)

func (g Ground) filled() Ground {
	if g.WallM == 0 {
		g.WallM = defaultWallM
	}
	if g.SoilWMK == 0 {
		g.SoilWMK = defaultSoilWMK
	}
	return g
}

// CharacteristicM is B', m: area over half the perimeter.
func (g Ground) CharacteristicM() float64 { return g.AreaM2 / (0.5 * g.PerimeterM) }

// EquivalentM is the equivalent thickness dt, m, of soil in place of the slab with floorR, m²K/W, of layers.
func (g Ground) EquivalentM(floorR float64) float64 {
	g = g.filled()
	return g.WallM + g.SoilWMK*(insideDown+floorR+outsideStill)
}

// UWM2K is the U-value of the slab between inside and outside air, W/m²K; floorR is the resistance of all layers of the
// floor, m²K/W.
func (g Ground) UWM2K(floorR float64) float64 {
	g = g.filled()
	b, dt := g.CharacteristicM(), g.EquivalentM(floorR)
	if dt < b {
		return 2 * g.SoilWMK / (math.Pi*b + dt) * math.Log(math.Pi*b/dt+1)
	}
	return g.SoilWMK / (0.457*b + dt)
}
