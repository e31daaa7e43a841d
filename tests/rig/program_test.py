"""The simulated rig as a program: it says where it answers, obeys its script and its control socket, and ends when told."""
import json
import pathlib
import re
import signal
import socket
import subprocess
import sys
import tempfile
import unittest

PROGRAM = ""
RIG = pathlib.Path(__file__).resolve().parents[2] / "config/examples/grain-store/rig.yaml"


def read_holding(port, unit, start, count):
    with socket.create_connection(("127.0.0.1", port)) as wire:
        wire.sendall(bytes([0, 1, 0, 0, 0, 6, unit, 3, start >> 8, start & 255, 0, count]))
        answer = b""
        while len(answer) < 9 + 2 * count:
            answer += wire.recv(300)
    return [answer[9 + 2 * n] << 8 | answer[10 + 2 * n] for n in range(count)]


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
