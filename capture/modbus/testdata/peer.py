"""A Modbus server with pymodbus, for tests: peer.py tcp PORT | peer.py rtu DEVICE.

Units 1 and 5 hold 200 registers in each table, at 0 counting up (input registers from 1000); 150 and up are slow by
SLOW seconds; unit 1 fails at 190. Standard input: "set TABLE ADDRESS HEX" puts bytes into unit 1's registers, "slow
SECONDS"; each is answered "ok". Standard output tells what was asked, as "asked FUNCTION ADDRESS COUNT".
"""
import asyncio
import logging
import sys
import threading
import time

from pymodbus.datastore import ModbusSequentialDataBlock, ModbusServerContext, ModbusSlaveContext
from pymodbus.server.async_io import ModbusSerialServer, ModbusTcpServer

logging.disable(logging.CRITICAL)
slow = 0.0
lock = threading.Lock()


def say(text):
    with lock:
        print(text, flush=True)


class Told(ModbusSlaveContext):
    """Tells every access."""

    def validate(self, fc_as_hex, address, count=1):
        say(f"asked {fc_as_hex} {address} {count}")
        return super().validate(fc_as_hex, address, count)

    def getValues(self, fc_as_hex, address, count=1):
        if address == 190:
            raise RuntimeError("out of order")
        if address >= 150:
            time.sleep(slow)
        return super().getValues(fc_as_hex, address, count)

    def setValues(self, fc_as_hex, address, values):
        say(f"WRITTEN {fc_as_hex} {address} {values}")
        super().setValues(fc_as_hex, address, values)


def unit():
    return Told(
        hr=ModbusSequentialDataBlock(0, list(range(200))),
        ir=ModbusSequentialDataBlock(0, list(range(1000, 1200))),
        zero_mode=True,
    )


units = {1: unit(), 5: unit()}


def commands():
    global slow
    for line in sys.stdin:
        words = line.split()
        if words[0] == "slow":
            slow = float(words[1])
        else:
            raw = bytes.fromhex(words[3])
            values = [raw[i] << 8 | raw[i + 1] for i in range(0, len(raw), 2)]
            units[1].store["h" if words[1] == "holding" else "i"].setValues(int(words[2]), values)
        say("ok")


async def main():
    context = ModbusServerContext(slaves=units, single=False)
    if sys.argv[1] == "tcp":
        server = ModbusTcpServer(context, address=("127.0.0.1", int(sys.argv[2])), allow_reuse_address=True)
        task = asyncio.create_task(server.serve_forever())
        await server.serving
    else:
        server = ModbusSerialServer(
            context, port=sys.argv[2], baudrate=115200, parity="N", stopbits=1, bytesize=8, timeout=0.005,
            ignore_missing_slaves=True)
        await server.start()
        task = asyncio.create_task(server.serve_forever())
    threading.Thread(target=commands, daemon=True).start()
    say("ready")
    await task


asyncio.run(main())
