package mbus

import "fmt"

// turn reads one meter once.
func (b *bus) turn(m *meter) error {
	b.sweep++
	a := m.Address
	if m.Secondary.given {
		a = selected
		if ok, err := b.choose(m); !ok || err != nil {
			return err
		}
	} else if !m.linked {
		got, err := b.try(m, reset(a), ack)
		if err != nil {
			return err
		}
		if got != ack {
			return b.silence(m, got)
		}
	}
	m.linked, m.fcb = true, m.fcb || !m.linked
	if err := b.telegrams(m, a); err != nil || !m.Secondary.given {
		return err
	}
	_, err := b.once(m, reset(selected)) // the meter may sleep again, and hears no other's requests
	return err
}

// choose selects a meter by its secondary address; false: it does not answer, which was noted.
func (b *bus) choose(m *meter) (bool, error) {
	if _, err := b.once(m, reset(selected)); err != nil { // whoever was selected
		return false, err
	}
	got, err := b.try(m, selects(m.Secondary), ack)
	if err != nil {
		return false, err
	}
	m.linked = false
	if got != ack {
		return false, b.silence(m, got)
	}
	m.fcb = true
	return true, nil
}

// telegrams asks for a meter's data, as long as more follow.
func (b *bus) telegrams(m *meter, a byte) error {
	for k := range MostTelegrams {
		got, n, err := b.tryFor(m, ask(a, m.fcb), telegram)
		if err != nil {
			return err
		}
		if got != telegram {
			m.linked = false
			if k == 0 {
				return b.silence(m, got)
			}
			return b.put(m.Name, nil, b.now(), fmt.Sprintf("the answer breaks off: %s after %s", got, plural(k)), 0)
		}
		m.fcb = !m.fcb
		if m.silent {
			m.silent = false
			if err := b.put(m.Name, nil, b.heard, "the meter answers again", 0); err != nil {
				return err
			}
		}
		frame := b.buf[:n]
		more, note := follows(frame), b.stranger(m, frame)
		sweep := b.sweep
		if note != "" {
			sweep, more = 0, false
		}
		if err := b.put(m.Name, frame, b.heard, note, sweep); err != nil {
			return err
		}
		b.drop(n)
		if err := b.noise(m.Name, b.n, "noise behind an answer"); err != nil {
			return err
		}
		if !more {
			return nil
		}
	}
	m.linked = false
	return b.put(m.Name, nil, b.now(), fmt.Sprintf("the meter says that more follow after %s: that is enough", plural(MostTelegrams)), 0)
}

// stranger says why an answer is not that of the meter that was asked; empty: it is.
func (b *bus) stranger(m *meter, frame []byte) string {
	a, ok := answers(frame)
	switch {
	case !ok:
		return "not an answer with data"
	case m.Secondary.given && !m.Secondary.fits(frame):
		id, _, _, _, _ := identity(frame)
		return fmt.Sprintf("another meter answered: number %X", id[:])
	case !m.Secondary.given && a != m.Address:
		return fmt.Sprintf("another meter answered: address %d", a)
	}
	return ""
}

// silence notes that a meter did not answer, once until it does again.
func (b *bus) silence(m *meter, got answer) error {
	m.linked = false
	if m.silent {
		return nil
	}
	m.silent = true
	who := fmt.Sprintf("address %d", m.Address)
	if m.Secondary.given {
		who = "number " + m.Secondary.String()
	}
	return b.put(m.Name, nil, b.now(), fmt.Sprintf("no reading of the meter, %s: %s in %d tries", who, got, 1+Retries), 0)
}

// once sends a request that may stay without an answer.
func (b *bus) once(m *meter, r request) (answer, error) {
	got, n, err := b.exchange(m.Name, r)
	if err == nil && got == telegram {
		err = b.noise(m.Name, n, "a telegram that was not asked for")
	}
	return got, err
}

// try sends a request until the wanted answer comes, or enough times.
func (b *bus) try(m *meter, r request, want answer) (answer, error) {
	got, _, err := b.tryFor(m, r, want)
	return got, err
}

func (b *bus) tryFor(m *meter, r request, want answer) (got answer, n int, err error) {
	for range 1 + Retries {
		if got, n, err = b.exchange(m.Name, r); err != nil || got == want {
			return got, n, err
		}
		if got == telegram {
			if err := b.noise(m.Name, n, "a telegram that was not asked for"); err != nil {
				return got, 0, err
			}
		}
	}
	return got, n, nil
}

func (a answer) String() string {
	switch a {
	case ack:
		return "acknowledged without data"
	case damaged:
		return "damaged answer"
	case telegram:
		return "data instead of an acknowledgement"
	}
	return "no answer"
}

func plural(k int) string {
	if k == 1 {
		return "1 telegram"
	}
	return fmt.Sprintf("%d telegrams", k)
}
