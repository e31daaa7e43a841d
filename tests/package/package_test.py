"""The Debian package on a bare Debian 12 under its own systemd: installed, at work, killed, upgraded, removed.

Started as root: python3 package_test.py FOLDER; the package is the one in it, as `cpack --preset release` leaves it there.
"""
import json
import os
import pathlib
import re
import sqlite3
import sys
import unittest

import debian_machine
from debian_machine import say, wait_for

FOLDER = PACKAGE = DEBIAN = None
VERIFY_SEALS = pathlib.Path(__file__).resolve().parents[1] / "record/verify_seals.py"
PERMIT, NO_PERMIT, HOLD, NO_PLAN, NOT_REACHABLE = 0, 3, 4, 6, 69
JOB, EXAMPLE = "/var/lib/standfast/job", "/usr/share/standfast/examples/grain-store"
OF_THE_MACHINE = ["/proc", "/sys", "/dev", "/run", "/tmp", "/root", "/var/log", "/var/cache", "/var/lib/apt", "/var/lib/dpkg",
                  "/var/lib/systemd", "/var/tmp"]
LEFT = {"/var/lib/standfast", "/var/lib/standfast/job", f"{JOB}/record.db", f"{JOB}/record.db.ballast", f"{JOB}/standfastd.lock",
        "/var/lib/standfast/record.key"}


def next_version(package, folder):
    """The same package with a higher version, as an upgrade."""
    say(["dpkg-deb", "--raw-extract", package, folder])
    control = folder / "DEBIAN/control"
    control.write_text(re.sub(r"(?m)^Version: (.*)$", r"Version: \1+next", control.read_text()))
    say(["dpkg-deb", "-Znone", "--build", "--root-owner-group", folder, f"{folder}.deb"])
    return pathlib.Path(f"{folder}.deb")


class Station(unittest.TestCase):
    def setUp(self):
        name = self.id().rsplit("test_", 1)[1][:20].strip("_").replace("_", "-")
        self.machine = debian_machine.Machine(DEBIAN, FOLDER / f"machines/{name}-{os.getpid()}")
        self.addCleanup(self.machine.end)
        self.before = self.machine.files(OF_THE_MACHINE)
        self.said = self.install(PACKAGE)

    def install(self, package):
        inside = self.machine.path(f"/var/cache/{package.name}")
        inside.write_bytes(package.read_bytes())
        return self.machine.done("apt-get", "install", "-y", "-q", "--no-install-recommends", f"/var/cache/{package.name}")

    def status(self, user="root"):
        return self.machine.run("standfast", "status", user=user).returncode

    def picture(self):
        return json.loads(self.machine.run("standfast", "status", "--json").stdout)

    def service(self, *properties):
        shown = self.machine.done("systemctl", "show", "standfast", *(f"--property={p}" for p in properties)).splitlines()
        return dict(line.split("=", 1) for line in shown)

    def s(self, *words):
        return self.machine.done("standfast", *words)

    def set_for_this_boot(self, line):
        drop_in = self.machine.path("/run/systemd/system/standfast.service.d/test.conf")
        drop_in.parent.mkdir(parents=True)
        drop_in.write_text(f"[Service]\n{line}\n")
        self.machine.done("systemctl", "daemon-reload")
        self.machine.done("systemctl", "restart", "standfast")

    def answers(self, *codes):
        wait_for(f"status to end with {codes}", lambda: self.status() in codes)

    def lay_the_job(self, rig="rig.yaml"):
        """As README.md has it; the plan is the one with short times. The pseudo terminals of a rig belong to whom it runs as."""
        self.machine.done("install", "-d", "-o", "standfast", "/var/cache/rig")
        self.machine.path("/var/cache/rig/rig.yaml").write_text(
            self.machine.path(f"{EXAMPLE}/{rig}").read_text().replace("/tmp/standfast-grain-store", "/var/cache/rig/lines"))
        program = self.machine.start("/usr/lib/standfast/standfast-rig", "--rig", "/var/cache/rig/rig.yaml", "--control", "-",
                                     "--log", "/var/cache/rig/outputs", user="standfast")
        self.addCleanup(program.wait)
        self.addCleanup(program.kill)
        self.addCleanup(program.stdin.close)
        self.machine.done("cp", "/var/cache/rig/rig.yaml", JOB)
        self.machine.done("cp", f"{EXAMPLE}/stages-demo.yaml", f"{JOB}/stages.yaml")
        self.s("people", "add", "E. Quill", "--role", "engineer")
        self.s("people", "add", "S. Vane", "--role", "supervisor", "--as", "E. Quill")
        self.s("people", "add", "T. Marsh", "--role", "technician", "--as", "E. Quill")
        revision = re.search(r"revision (\w+)", self.s("check", JOB))[1]
        self.s("offer", "--as", "T. Marsh")
        self.s("adopt", revision, "--as", "E. Quill", "--second", "S. Vane")
        wait_for("outputs", lambda: self.picture()["outputs"]["answered"])

    def good_readings(self, bus):
        found = [c["reading"]["quality"] for c in self.picture()["channels"] if c["bus"] == bus]
        return bool(found) and set(found) == {"good"}

    def permit(self):
        wait_for("readings", lambda: self.good_readings("manifold"))
        self.s("acknowledge", "all")
        self.s("reset", "all", "--as", "S. Vane", "--reason", "looked at every reading")
        self.s("stage", "enter", "Commission", "--as", "S. Vane")
        wait_for("values", lambda: all(limit["value"]["quality"] == "good" for limit in self.picture()["limits"]))
        self.s("permit", "commission", "--as", "S. Vane", "--second", "T. Marsh")
        wait_for("the permit at the rig", lambda: self.outputs().get("raise_permit"))

    def changes(self):
        """What the rig's own output module has seen: [(output, on, by)]; by a coil that was written, or its watchdog."""
        lines = self.machine.path("/var/cache/rig/outputs").read_text().splitlines()
        return [(entry["output"], entry["on"], entry["by"]) for entry in map(json.loads, lines) if "output" in entry]

    def outputs(self):
        return {output: on for output, on, _ in self.changes()}


class Package(Station):
    def test_installed_alone_it_serves_before_there_is_any_job_and_says_so(self):
        self.assertRegex(self.said, r"\b0 upgraded, 1 newly installed, 0 to remove\b")
        self.answers(NO_PLAN)
        self.assertIn("no plan has been adopted", self.machine.run("standfast", "status").stdout)
        wait_for("its word to systemd", lambda: self.service("StatusText")["StatusText"] == "HOLD: plan")
        service = self.service("ActiveState", "UnitFileState", "NRestarts", "LimitNOFILE", "DevicePolicy")
        self.assertEqual({"ActiveState": "active", "UnitFileState": "enabled", "NRestarts": "0", "LimitNOFILE": "1000",
                          "DevicePolicy": "closed"}, service)
        self.assertEqual("", self.machine.done("systemd-analyze", "verify", "standfast.service"))
        self.assertEqual(0, self.machine.run("sh", "-c", f"test -e {JOB}/record.db").returncode)
        self.assertEqual("", self.machine.done("systemctl", "--failed", "--no-legend"))

    def test_a_job_laid_into_the_folder_is_offered_adopted_and_watched_without_a_restart(self):
        self.answers(NO_PLAN)
        self.lay_the_job()
        self.permit()
        self.assertEqual(PERMIT, self.status())
        self.assertEqual("healthy", self.picture()["record"]["state"])
        self.assertEqual("0", self.service("NRestarts")["NRestarts"])

    def test_it_reads_serial_lines_confined_as_it_is(self):
        self.answers(NO_PLAN)
        self.lay_the_job("rig-wires.yaml")
        wait_for("readings on every wire", lambda: all(map(self.good_readings, ("manifold", "gauges", "dial"))))

    def test_it_may_write_its_two_folders_and_open_serial_lines_and_nothing_else(self):
        # What stands before the daemon in the unit is confined as the daemon is, so it can try. A made-up class of device
        # (240: for local use, Linux, Documentation/admin-guide/devices.txt) is not there, which is another answer than "not permitted".
        for node, minor, major, group in (("ttyS9", 73, 4, "dialout"), ("other", 0, 240, "standfast")):
            self.machine.done("mknod", "--mode=660", f"/dev/{node}", "c", major, minor)
            self.machine.done("chgrp", group, f"/dev/{node}")
        tried = {"state": "> /var/lib/standfast/tried", "run": "> /run/standfast/tried", "system": "> /etc/tried",
                 "serial": "<> /dev/ttyS9", "other": "<> /dev/other"}
        script = self.machine.path("/usr/local/bin/try")
        script.write_text("#!/bin/sh\n" + "".join(f"( : {what} ) 2>> /run/standfast/{name}\n" for name, what in tried.items()) + "exit 0\n")
        script.chmod(0o755)
        self.set_for_this_boot("ExecStartPre=/usr/local/bin/try")
        said = {name: self.machine.path(f"/run/standfast/{name}").read_text().strip().rsplit(": ")[-1] for name in tried}
        self.assertNotIn(said.pop("serial"), {"Operation not permitted", "Permission denied"})
        self.assertEqual({"state": "", "run": "", "system": "Read-only file system", "other": "Operation not permitted"}, said)

    def test_the_group_may_speak_and_read_and_nobody_else(self):
        self.machine.done("useradd", "--groups", "standfast", "marsh")
        self.machine.done("useradd", "stranger")
        self.answers(NO_PLAN)
        self.assertEqual(NO_PLAN, self.status("marsh"))
        self.machine.done("standfast", "events", "--job", JOB, user="marsh")
        self.assertEqual(NOT_REACHABLE, self.status("stranger"))
        self.assertNotEqual(0, self.machine.run("standfast", "events", "--job", JOB, user="stranger").returncode)
        for path in (f"{JOB}/record.db", f"{JOB}/rig.yaml", "/var/lib/standfast/record.key", "/var/lib/standfast/people.json"):
            self.assertNotEqual(0, self.machine.run("dd", "if=/dev/null", f"of={path}", "conv=notrunc", user="marsh").returncode, path)
        for folder in ("/run/standfast", "/var/lib/standfast", JOB):
            self.assertNotEqual(0, self.machine.run("ls", folder, user="stranger").returncode, folder)

    def test_killed_or_stuck_it_is_started_again_as_often_as_it_takes_and_permits_nothing(self):
        """[fault-27]"""
        self.set_for_this_boot("WatchdogSec=4")  # What the unit itself says is a matter of the house; here only that it counts.
        self.answers(NO_PLAN)
        self.lay_the_job()
        self.permit()
        for restarts in range(1, 8):  # More than the five after which systemd by itself gives up.
            self.machine.done("systemctl", "kill", "--signal=KILL" if restarts > 1 else "--signal=STOP", "standfast")
            wait_for("another start", lambda: self.service("NRestarts", "ActiveState") ==
                     {"NRestarts": str(restarts), "ActiveState": "active"})
            if restarts == 1:
                self.assertFalse(self.outputs()["raise_permit"])
        self.answers(HOLD)
        self.assertFalse(self.outputs()["raise_permit"])

    def test_an_upgrade_switches_the_outputs_off_and_brings_no_permit_back(self):
        """[fault-51]"""
        self.answers(NO_PLAN)
        self.lay_the_job()
        self.permit()
        self.install(next_version(PACKAGE, self.machine.folder / "next"))
        self.assertIn("+next", self.machine.done("dpkg-query", "--show", "standfast"))
        self.answers(HOLD)
        self.assertEqual([("raise_permit", True, "coil"), ("raise_permit", False, "coil")],
                         [change for change in self.changes() if change[0] == "raise_permit"])
        self.assertIn("commission permit ended in stage Commission", self.s("events", "--job", JOB))

    def test_what_somebody_has_disabled_is_not_started_by_an_upgrade(self):
        self.answers(NO_PLAN)
        self.machine.done("systemctl", "disable", "--now", "standfast")
        self.install(next_version(PACKAGE, self.machine.folder / "next"))
        self.assertEqual({"ActiveState": "inactive", "UnitFileState": "disabled"}, self.service("ActiveState", "UnitFileState"))

    def test_removed_and_purged_it_leaves_the_record_and_nothing_else(self):
        self.answers(NO_PLAN)
        self.machine.done("apt-get", "remove", "-y", "-q", "standfast")
        self.machine.done("apt-get", "purge", "-y", "-q", "standfast")
        left = self.machine.files(OF_THE_MACHINE) - self.before
        self.assertEqual(LEFT, {path for path in left if not re.fullmatch(r"/etc/(passwd|group|shadow|gshadow|subuid|subgid)-?", path)})
        self.assertNotIn("standfastd", self.machine.done("sh", "-c", "cat /proc/[0-9]*/comm").split())
        self.assertNotIn("standfast", self.machine.done("systemctl", "list-units", "--all", "--no-legend"))
        record = self.machine.folder / "record.db"
        record.write_bytes(self.machine.path(f"{JOB}/record.db").read_bytes())
        say(["/usr/bin/python3", VERIFY_SEALS, record])
        with sqlite3.connect(record) as rows:
            ((boot_id,),) = rows.execute("SELECT boot_id FROM span").fetchall()
        self.assertRegex(boot_id, r"^[0-9a-f-]{36}$")
        rows.close()
        self.install(PACKAGE)
        self.answers(NO_PLAN)
        self.assertEqual("0", self.service("NRestarts")["NRestarts"])


def main():
    global FOLDER, PACKAGE, DEBIAN
    FOLDER = pathlib.Path(sys.argv.pop(1)).resolve()
    (PACKAGE,) = FOLDER.glob("standfast_*.deb")
    DEBIAN = debian_machine.debian_for(PACKAGE, FOLDER)
    unittest.main()


if __name__ == "__main__":
    main()
