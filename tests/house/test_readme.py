"""The three tours of README.md are walked through as they stand there, one command after the other."""
import os
import pathlib
import re
import signal
import socket
import subprocess
import tempfile
import time
import unittest

import tree

SITE = "/tmp/c4"
SHORT = 's() { standfast "$@" --station /tmp/c4/station; }'
# As README.md has them; each run uses a folder and a port of its own.
MAY_END_WITH = {"s status": {3, 4, 5, 6}}
PATIENCE_S = 30  # A command whose condition is still to come is given again, as a person would.


def blocks():
    """The commands of each tour, by its heading; what stands behind two blanks says what a command is for."""
    tours = {}
    for heading, body in re.findall(r"^### The (\w+):.*?\n(.*?)(?=^##)", tree.text("README.md"), re.MULTILINE | re.DOTALL):
        lines = [line for block in re.findall(r"^```\n(.*?)^```", body, re.MULTILINE | re.DOTALL) for line in block.splitlines()]
        tours[heading] = [re.split(r" {2,}", line)[0] for line in lines]
    return tours


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Readme(unittest.TestCase):
    def setUp(self):
        self.site = tempfile.TemporaryDirectory()
        self.addCleanup(self.site.cleanup)
        programs = ":".join(str(tree.BUILD / room) for room in ("daemon", "tools/standfast", "tools/rig"))
        self.environment = os.environ | {"PATH": f"{programs}:/usr/bin:{os.environ['PATH']}"}
        job = pathlib.Path(self.site.name, "job")
        self.shell("mkdir -p /tmp/c4/station && cp -r config/examples/grain-store /tmp/c4/job")
        rig = (job / "rig.yaml").read_text()
        (job / "rig.yaml").write_text(rig.replace("port: 1502", f"port: {free_port()}"))

    def words(self, command):
        return f"{SHORT}\n{command}".replace(SITE, self.site.name)

    def shell(self, command):
        return subprocess.run(["bash", "-c", self.words(command)], cwd=tree.ROOT, env=self.environment, capture_output=True,
                              text=True)

    def start(self, command):
        program = subprocess.Popen(["bash", "-c", self.words("exec " + command)], cwd=tree.ROOT, env=self.environment,
                                   stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        self.addCleanup(self.end, program)
        return program

    @staticmethod
    def end(program):
        program.send_signal(signal.SIGTERM)
        program.wait()
        program.stdin.close()

    def give(self, command):
        until = time.monotonic() + PATIENCE_S
        while True:
            done = self.shell(command)
            if done.returncode in MAY_END_WITH.get(command, {0}):
                return
            if time.monotonic() > until:
                self.fail(f"{command}: exit {done.returncode}: {done.stdout}{done.stderr}")
            time.sleep(0.2)

    def test_every_command_of_the_three_tours_does_what_it_is_for(self):
        self.assertIn(f"\n{SHORT}\n", tree.text("README.md"))
        tours = blocks()
        self.assertEqual(["technician", "engineer", "auditor"], list(tours))
        for name, commands in tours.items():
            self.assertGreaterEqual(len(commands), 6, name)
            for command in commands:
                if command.startswith("standfast-rig "):
                    rig = self.start(command)
                elif command.startswith("standfastd "):
                    self.start(command)
                elif command.startswith("gauge "):
                    rig.stdin.write(command.encode() + b"\n")
                    rig.stdin.flush()
                else:
                    self.give(command)


if __name__ == "__main__":
    tree.main()
