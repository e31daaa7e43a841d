"""A working site whose simulated rig obeys: what befalls its wires, contacts and output module is said to it in its own words."""
import json
import re
import socket
import subprocess

import program_test
from program_test import GRAIN_STORE, Site, replaced, wait_for


class RigSite(Site):
    rig_file = "rig.yaml"

    def start_rig(self):
        """As Site's, with a control socket."""
        self.control = self.folder / "control"
        text = self.rig_text((GRAIN_STORE / self.rig_file).read_text())
        served = self.folder / "served.yaml"
        served.write_text(text)
        rig = self.program(program_test.RIG, "--rig", served, "--port", "0", "--log", self.log, "--control", self.control,
                           stdout=subprocess.PIPE, text=True)
        self.addCleanup(rig.stdout.close)
        rig.stdout.readline()
        self.port = int(re.search(r":(\d+)", rig.stdout.readline())[1])
        (self.job / "rig.yaml").write_text(replaced(text, "port: 1502", f"port: {self.port}"))
        (self.job / "stages.yaml").write_text((GRAIN_STORE / "stages-demo.yaml").read_text())
        wait_for("the control socket", self.control.exists)
        return rig

    def rig_text(self, text):
        return text

    def obeys(self, command):
        with socket.socket(socket.AF_UNIX) as line:
            line.connect(str(self.control))
            line.sendall(command.encode() + b"\n")
            said = line.makefile().readline()
        self.assertTrue(said.startswith("done:") or command == "state", said)
        return said

    def contact(self, output):
        """As it stands on the rig, whatever was written."""
        return json.loads(self.obeys("state"))["outputs"][output]

    def logged_since(self, lines):
        """What stands behind so many lines of the rig's log."""
        return [json.loads(line) for line in self.log.read_text().splitlines()[lines:]]

    def energised_since(self, lines):
        """Contacts that closed behind so many lines of the rig's log."""
        return {entry["output"] for entry in self.logged_since(lines) if entry.get("on") and "output" in entry}

    def changes_of(self, output, lines):
        """What an output's contact did behind so many lines of the rig's log, and what made it."""
        return [(entry["on"], entry["by"]) for entry in self.logged_since(lines) if entry.get("output") == output]

    def permit_drops(self, by="coil"):
        """The permit's contact opens, and it is this that opens it: the daemon's own word, or the module's watchdog without it."""
        wait_for("the permit's contact to open", lambda: not self.contact("raise_permit"))
        wait_for("the log of it", lambda: not self.changes_of("raise_permit", 0)[-1][0])
        self.assertEqual((False, by), self.changes_of("raise_permit", 0)[-1])

    def log_lines(self):
        return len(self.log.read_text().splitlines())

    def level(self):
        return self.picture()["signal"]["level"]

    def alarm(self, subject):
        """The open alarm of this subject, or nothing."""
        return next((a for a in self.picture()["alarms"] if a["subject"] == subject), None)

    def output(self, name):
        """An output in the picture: wanted, written, read back."""
        return next(o for o in self.picture()["outputs"]["list"] if o["name"] == name)

    def looked_at(self, second="E. Quill"):
        self.done("acknowledge", "all")
        self.done("reset", "all", "--as", "S. Vane", "--second", second, "--reason", "the module was looked at")

    def armed(self):
        """A site with a permit that stands on the wire."""
        daemon = self.working_site()
        self.commission()
        return daemon

    def permit_anew(self):
        self.done("permit", "commission", "--as", "S. Vane", "--second", "T. Marsh")
        wait_for("the permit", lambda: self.contact("raise_permit"))
