package main

// The text of two probes, by the scratchpads of the DS18B20 datasheet's table: 25.0625 and 10.125 °C.
const (
	probe25 = "91 01 4b 46 7f ff 0f 10 25 : crc=25 YES\n91 01 4b 46 7f ff 0f 10 25 t=25062\n"
	probe10 = "a2 00 4b 46 7f ff 0e 10 e5 : crc=e5 YES\na2 00 4b 46 7f ff 0e 10 e5 t=10125\n"
)
