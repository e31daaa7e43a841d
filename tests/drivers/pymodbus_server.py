#!/usr/bin/python3
"""A Modbus server that is not ours: Debian's python3-pymodbus, with `tcp` on a port of loopback that it prints, with `rtu` on a
serial line whose other end it prints. The line is one of pseudo terminals by socat.

Unit 1 holds numbers laid out by pymodbus's own payload builder in every word and byte order; unit 9 is an output module.
Commands on standard input: `coils` prints the first eight of unit 9; the end of the input ends the server.
"""
import asyncio
import logging
import os
import subprocess
import sys
import tempfile

from pymodbus.constants import Endian
from pymodbus.datastore import ModbusSequentialDataBlock, ModbusServerContext, ModbusSlaveContext
from pymodbus.payload import BinaryPayloadBuilder
from pymodbus.server.async_io import ModbusSerialServer, ModbusTcpServer
from pymodbus.transaction import ModbusRtuFramer


def numbers(byteorder, wordorder):
    """30 registers: the same numbers in the order that is asked for."""
    builder = BinaryPayloadBuilder(byteorder=byteorder, wordorder=wordorder)
    builder.add_32bit_float(123456.0)
    builder.add_32bit_float(-0.015625)
    builder.add_32bit_int(-1234567)
    builder.add_32bit_uint(4000000000)
    builder.add_64bit_float(3.141592653589793)
    builder.add_64bit_int(-9007199254740992)
    builder.add_64bit_uint(9007199254740992)
    builder.add_16bit_int(-2)
    builder.add_16bit_uint(65533)
    builder.add_32bit_float(float("nan"))
    builder.add_32bit_float(float("inf"))
    builder.add_32bit_float(1e-40)
    registers = builder.to_registers()
    return registers + [0] * (30 - len(registers))


def unit_of_numbers():
    registers = []
    for byteorder in (Endian.Big, Endian.Little):
        for wordorder in (Endian.Big, Endian.Little):
            registers += numbers(byteorder, wordorder)
    return ModbusSlaveContext(
        hr=ModbusSequentialDataBlock(0, registers),
        ir=ModbusSequentialDataBlock(0, [(i * 257) & 0xFFFF for i in range(200)]),
        co=ModbusSequentialDataBlock(0, [i % 3 == 0 for i in range(100)]),
        di=ModbusSequentialDataBlock(0, [i % 5 == 0 for i in range(100)]),
        zero_mode=True,
    )


def unit_of_outputs():
    return ModbusSlaveContext(
        hr=ModbusSequentialDataBlock(0, [20, 0, 0] + [0] * 61),
        co=ModbusSequentialDataBlock(0, [False] * 32),
        di=ModbusSequentialDataBlock(0, [False] * 32),
        zero_mode=True,
    )


async def serve_tcp(context):
    server = ModbusTcpServer(context, address=("127.0.0.1", 0))
    serving = asyncio.create_task(server.serve_forever())
    await server.serving
    print(server.server.sockets[0].getsockname()[1], flush=True)
    return serving


async def serve_rtu(context, folder):
    theirs, ours = os.path.join(folder, "theirs"), os.path.join(folder, "ours")
    line = subprocess.Popen(["socat", f"pty,rawer,link={theirs}", f"pty,rawer,link={ours}"], stdin=subprocess.DEVNULL)
    while not (os.path.exists(theirs) and os.path.exists(ours)):
        if line.poll() is not None:
            sys.exit("socat ended")
        await asyncio.sleep(0.01)
    # Without parity: a pseudo terminal has none, and says so.
    server = ModbusSerialServer(context, framer=ModbusRtuFramer, port=theirs, baudrate=115200)
    await server.start()
    serving = asyncio.create_task(server.serve_forever())
    print(ours, flush=True)
    return serving, line


async def main():
    outputs = unit_of_outputs()
    context = ModbusServerContext(slaves={1: unit_of_numbers(), 9: outputs}, single=False)
    line = None
    folder = tempfile.TemporaryDirectory()
    if sys.argv[1] == "rtu":
        serving, line = await serve_rtu(context, folder.name)
    else:
        serving = await serve_tcp(context)

    commands = asyncio.StreamReader()
    loop = asyncio.get_running_loop()
    await loop.connect_read_pipe(lambda: asyncio.StreamReaderProtocol(commands), sys.stdin)
    while command := await commands.readline():
        if command.strip() == b"coils":
            print("".join(str(int(bit)) for bit in outputs.getValues(1, 0, 8)), flush=True)
    serving.cancel()
    if line:
        line.terminate()
        line.wait()
    folder.cleanup()


logging.disable()  # It reports every refusal and every closed connection.
asyncio.run(main())
