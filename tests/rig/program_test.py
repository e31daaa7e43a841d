"""The simulated rig as a program: it says where it answers, obeys its script and its control socket, and ends when told."""
import json
import os
import pathlib
import re
import select
import signal
import socket
import subprocess
import sys
import tempfile
import termios
import tty
import unittest

PROGRAM = ""
RIG = pathlib.Path(__file__).resolve().parents[2] / "config/examples/grain-store/rig.yaml"
WIRES = RIG.with_name("rig-wires.yaml")
LINES = "/tmp/standfast-grain-store"  # Where WIRES has its serial lines.


def read_holding(port, unit, start, count):
    with socket.create_connection(("127.0.0.1", port)) as wire:
        wire.sendall(bytes([0, 1, 0, 0, 0, 6, unit, 3, start >> 8, start & 255, 0, count]))
        answer = b""
        while len(answer) < 9 + 2 * count:
            answer += wire.recv(300)
    return [answer[9 + 2 * n] << 8 | answer[10 + 2 * n] for n in range(count)]


def ask_line(device, request):
    """What a dial answers at 9600 baud, with nothing but the system's own terminal calls."""
    wire = os.open(device, os.O_RDWR | os.O_NOCTTY)
    try:
        tty.setraw(wire)
        settings = termios.tcgetattr(wire)
        settings[4] = settings[5] = termios.B9600
        termios.tcsetattr(wire, termios.TCSANOW, settings)
        os.write(wire, request)
        line = b""
        while not line.endswith(b"\n"):
            select.select([wire], [], [])
            line += os.read(wire, 100)
        return line
    finally:
        os.close(wire)


class Program(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)

    def path(self, name):
        return str(pathlib.Path(self.folder.name) / name)

    def start(self, *arguments):
        program = subprocess.Popen([PROGRAM, "--rig", RIG, "--port", "0", *arguments], stdin=subprocess.PIPE,
                                   stdout=subprocess.PIPE, text=True)
        self.addCleanup(program.stdout.close)
        self.addCleanup(program.stdin.close)
        self.addCleanup(program.wait)
        self.addCleanup(program.kill)
        self.assertEqual("simulated: Grain store, column C4\n", program.stdout.readline())
        match = re.fullmatch(r"bus manifold: 127\.0\.0\.1:(\d+)\n", program.stdout.readline())
        return program, int(match[1])

    def test_it_says_where_it_answers_marks_itself_as_simulated_and_ends_when_told(self):
        program, port = self.start()
        self.assertEqual([0x5346, 0x5349], read_holding(port, 9, 65100, 2))
        program.send_signal(signal.SIGTERM)
        self.assertEqual(0, program.wait())

    def start_with_lines(self):
        rig = self.path("rig-wires.yaml")
        pathlib.Path(rig).write_text(WIRES.read_text().replace(LINES, self.path("lines")))
        program = subprocess.Popen([PROGRAM, "--rig", rig, "--port", "0", "--control", self.path("control")],
                                   stdout=subprocess.PIPE, text=True)
        self.addCleanup(program.stdout.close)
        self.addCleanup(program.wait)
        self.addCleanup(program.kill)
        said = [program.stdout.readline() for _ in range(4)]
        self.assertEqual(f"bus gauges: {self.path('lines/gauges')}\n", said[2])
        self.assertEqual(f"bus dial: {self.path('lines/dial')}\n", said[3])
        return program

    def mbpoll(self, *words):
        done = subprocess.run(["mbpoll", "-m", "rtu", "-b", "38400", "-P", "even", "-0", "-1", "-o", "5", *words,
                               self.path("lines/gauges")], capture_output=True, text=True)
        return done.stdout + done.stderr

    def say(self, words):
        with socket.socket(socket.AF_UNIX) as person:
            person.connect(self.path("control"))
            person.sendall((words + "\n").encode())
            return person.makefile().readline()

    def test_debians_mbpoll_reads_the_gauges_over_a_serial_line(self):
        program = self.start_with_lines()
        said = self.mbpoll("-a", "3", "-t", "3", "-r", "20", "-c", "4")
        self.assertRegex(said, r"\[20\]:\s+-?\d+\n")
        real = self.mbpoll("-B", "-a", "3", "-t", "3:float", "-r", "22", "-c", "1")
        self.assertLess(abs(float(re.search(r"\[22\]:\s+(\S+)", real)[1])), 1)
        self.assertIn("Illegal data address", self.mbpoll("-a", "3", "-t", "3", "-r", "500", "-c", "1"))
        self.assertTrue(self.say("unit gauges 3 silent").startswith("done"))
        self.assertIn("timed out", self.mbpoll("-o", "1", "-a", "3", "-t", "3", "-r", "20", "-c", "4"))
        program.send_signal(signal.SIGTERM)
        self.assertEqual(0, program.wait())
        self.assertEqual([], os.listdir(self.path("lines")))

    def test_a_reader_of_the_systems_own_calls_asks_the_dial_for_its_line(self):
        self.start_with_lines()
        line = ask_line(self.path("lines/dial"), b"?\r")
        match = re.fullmatch(rb"(B -?\d+\.\d{3} mm )([0-9A-F]{2})\r\n", line)
        self.assertIsNotNone(match, line)
        checksum = 0
        for byte in match[1]:
            checksum ^= byte
        self.assertEqual(checksum, int(match[2], 16))
        self.say("wire dial says overload")
        self.assertTrue(ask_line(self.path("lines/dial"), b"?\r").startswith(b"B OL mm "))

    def test_script_and_control_socket_are_obeyed_and_logged(self):
        script, control, log = self.path("script"), self.path("control"), self.path("log")
        pathlib.Path(script).write_text("at 0 s: gauge G1 stuck\n")
        program, _ = self.start("--script", script, "--control", control, "--log", log)
        with socket.socket(socket.AF_UNIX) as person:
            person.connect(control)
            lines = person.makefile("rw")
            lines.write("state\nraise J1 to 5 kN\n")
            lines.flush()
            self.assertEqual(["J1", "J2", "J3", "J4"], [jack["name"] for jack in json.loads(lines.readline())["jacks"]])
            self.assertTrue(lines.readline().startswith("refused: the pump does not start"))
            lines.close()
        program.send_signal(signal.SIGTERM)
        self.assertEqual(0, program.wait())
        entries = [json.loads(line) for line in pathlib.Path(log).read_text().splitlines()]
        self.assertEqual("Grain store, column C4", entries[0]["start"])
        said = {(entry.get("command"), entry.get("by")) for entry in entries}
        self.assertIn(("gauge G1 stuck", "script"), said)
        self.assertIn(("raise J1 to 5 kN", "control"), said)

    def test_commands_may_come_from_standard_input(self):
        program, _ = self.start("--control", "-")
        program.stdin.write("gauge G1 knocked +0.8 mm\n")
        program.stdin.flush()
        self.assertEqual("done: G1\n", program.stdout.readline())

    def test_what_cannot_be_served_is_said_and_ends_with_2(self):
        for arguments in (["--rig", self.path("none")], ["--rig", RIG, "--script", self.path("none")]):
            ended = subprocess.run([PROGRAM, *arguments], capture_output=True, text=True)
            self.assertEqual(2, ended.returncode)
            self.assertIn("cannot be read", ended.stderr)


if __name__ == "__main__":
    PROGRAM = sys.argv.pop(1)
    unittest.main()
