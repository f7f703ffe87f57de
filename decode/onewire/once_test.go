package onewire

import (
	"errors"
	"testing"
)

// Values and steps: DS18B20 datasheet, tables of temperature and of resolution.
func TestCelsiusOfOnePayload(t *testing.T) {
	const probe = "28-0000a71c01f4"
	tests := []struct {
		name, channel, payload string
		c, step                float64
		err                    error
	}{
		{"25.0625 at 12 bits", probe, "91 01 4b 46 7f ff 0f 10 25 : crc=25 YES\n91 01 4b 46 7f ff 0f 10 25 t=25062\n", 25.0625, 0.0625, nil},
		{"refused by the kernel", probe, "ff ff ff ff ff ff ff ff ff : crc=c9 NO\n91 01 4b 46 7f ff 0f 10 25 t=25062\n", 0, 0, ErrNoValue},
		{"empty", probe, "", 0, 0, ErrNoValue},
		{"power-on", probe, "50 05 4b 46 7f ff 0c 10 1c : crc=1c YES\n", 0, 0.0625, ErrPowerOn},
		{"85 that may be measured", probe, "50 05 4b 46 7f ff 10 10 bd : crc=bd YES\n", 85, 0.0625, ErrPowerOn},
		{"millidegrees", probe, "54375\n", 54.375, 0, nil},
		{"garbage", probe, "\x00", 0, 0, ErrLayout},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c, step, err := Celsius(tt.channel, []byte(tt.payload))
			if !errors.Is(err, tt.err) || c != tt.c || step != tt.step {
				t.Errorf("%v °C, step %v K, %v", c, step, err)
			}
		})
	}
	for conf, want := range map[byte]float64{0x1F: 0.5, 0x3F: 0.25, 0x5F: 0.125, 0x7F: 0.0625} {
		if got := (&Scratchpad{4: conf}).stepK(DS18B20); got != want {
			t.Errorf("byte 4 = %02X: %v K, want %v", conf, got, want)
		}
	}
}
