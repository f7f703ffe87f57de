package episode

import "time"

// since is t.Sub(u), for where every reading comes along: Sub looks each time whether its result fits.
func since(t, u time.Time) time.Duration {
	s := t.Unix() - u.Unix()
	if s > 1<<32 || s < -1<<32 { // beyond 136 years, a zero time
		return t.Sub(u)
	}
	return time.Duration(s)*time.Second + time.Duration(t.Nanosecond()-u.Nanosecond())
}
