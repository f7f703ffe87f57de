package episode

import (
	"math"
	"time"
)

const (
	cellNone  = math.MinInt16
	cellsADay = 25*60 + 1 // minutes of the longest day
)

// minutes are the values of one point by minutes of a day, hundredths; nil: none.
type minutes struct {
	cells []int16
	last  value
}

func (m *minutes) put(i int, v float64) {
	if i < 0 || i >= cellsADay {
		return
	}
	if m.cells == nil {
		m.cells = make([]int16, cellsADay)
		for j := range m.cells {
			m.cells[j] = cellNone
		}
	}
	m.cells[i] = int16(min(max(math.Round(100*v), cellNone+1), math.MaxInt16))
}

// at gives the value of a minute.
func (m *minutes) at(i int) (float64, bool) {
	if m == nil || i < 0 || i >= len(m.cells) || m.cells[i] == cellNone {
		return 0, false
	}
	return float64(m.cells[i]) / 100, true
}

// take fills the minutes whose middles lie between the last reading and this one: on the line between them, or held at
// the last.
func (m *minutes) take(day, t moment, v float64, stands time.Duration, hold bool) {
	if dt := t.since(m.last.t); m.last.seen && dt > 0 && dt <= stands {
		first, end := middles(m.last.t.since(day)), middles(t.since(day))-1
		for i := max(0, first); i <= end; i++ {
			x := m.last.v
			if !hold {
				mid := day + moment(time.Duration(i)*time.Minute+30*time.Second)
				x += (v - m.last.v) * float64(mid.since(m.last.t)) / float64(dt)
			}
			m.put(i, x)
		}
	}
	m.last = value{v, t, true}
}

// middles is the number of minutes of a day whose middle has come after a time of it; below 0 before the day.
func middles(d time.Duration) int {
	if d += 30 * time.Second; d < 0 {
		return int((d+1)/time.Minute) - 1
	}
	return int(d / time.Minute)
}
