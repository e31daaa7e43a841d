"""standfastd and standfast as programs on the simulated rig: how they start, refuse, end, and what is left after a kill."""
import json
import os
import pathlib
import re
import signal
import socket
import sqlite3
import stat
import subprocess
import sys
import tempfile
import time
import unittest

STANDFASTD = STANDFAST = RIG = ""
GRAIN_STORE = pathlib.Path(__file__).resolve().parents[2] / "config/examples/grain-store"
SCENARIOS = pathlib.Path(__file__).resolve().parents[1] / "scenarios"
PATIENCE_S = 60  # Only a guard against waiting for ever.

HOLD, NOTHING_TO_TRUST, NOT_REACHABLE, NOT_PERMITTED, USAGE = 4, 6, 69, 77, 64


def wait_for(what, is_so):
    for _ in range(PATIENCE_S * 20):
        if is_so():
            return
        time.sleep(0.05)
    raise AssertionError(f"waited in vain for: {what}")


def replaced(text, what, by, count=-1):
    """`what` must be there: a test that changes nothing would test nothing."""
    if what not in text:
        raise AssertionError(f"not there to be replaced: {what!r}")
    return text.replace(what, by, count)


class Site(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)
        self.job, self.station, self.log = self.folder / "job", self.folder / "station", self.folder / "outputs"
        self.job.mkdir()
        self.station.mkdir()

    def program(self, *arguments, **others):
        program = subprocess.Popen([str(a) for a in arguments], stdin=subprocess.DEVNULL, **others)
        self.addCleanup(program.wait)
        self.addCleanup(program.kill)
        return program

    def start_rig(self):
        rig = self.program(RIG, "--rig", GRAIN_STORE / "rig.yaml", "--port", "0", "--log", self.log, stdout=subprocess.PIPE, text=True)
        self.addCleanup(rig.stdout.close)
        rig.stdout.readline()
        port = re.search(r":(\d+)", rig.stdout.readline())[1]
        text = (GRAIN_STORE / "rig.yaml").read_text()
        (self.job / "rig.yaml").write_text(replaced(text, "port: 1502", f"port: {port}"))
        (self.job / "stages.yaml").write_text((GRAIN_STORE / "stages-demo.yaml").read_text())
        return rig

    def start_daemon(self, **environment):
        daemon = self.program(STANDFASTD, "--job", self.job, "--station", self.station, stderr=subprocess.DEVNULL,
                              env={**os.environ, **environment})
        wait_for("the daemon to answer", lambda: self.say("status").returncode != NOT_REACHABLE or daemon.poll() is not None)
        return daemon

    def say(self, *arguments):
        return subprocess.run([STANDFAST, *arguments, "--station", str(self.station)], capture_output=True, text=True)

    def done(self, *arguments):
        said = self.say(*arguments)
        self.assertEqual(0, said.returncode, said.stdout + said.stderr)
        return said.stdout

    def picture(self):
        return json.loads(self.say("status", "--json").stdout)

    def crew(self):
        self.done("people", "add", "E. Quill", "--role", "engineer")
        self.done("people", "add", "S. Vane", "--role", "supervisor", "--as", "E. Quill")
        self.done("people", "add", "T. Marsh", "--role", "technician", "--as", "E. Quill")

    def adopt(self):
        revision = re.search(r"revision (\w+)", self.done("check", str(self.job)))[1]
        self.done("offer", "--as", "T. Marsh")
        self.done("adopt", revision, "--as", "E. Quill", "--second", "S. Vane")
        wait_for("readings", lambda: all(c["reading"]["quality"] == "good" for c in self.picture()["channels"]))
        wait_for("outputs", lambda: self.picture()["outputs"]["answered"])

    def within_limits(self):
        self.done("acknowledge", "all")
        self.done("reset", "all", "--as", "S. Vane", "--reason", "looked at every reading")

    def outputs(self):
        """What the rig's own module has seen: output by name, newest state."""
        state = {}
        for line in self.log.read_text().splitlines():
            entry = json.loads(line)
            if "output" in entry:
                state[entry["output"]] = entry["on"]
        return state

    def working_site(self):
        self.start_rig()
        daemon = self.start_daemon()
        self.crew()
        self.adopt()
        self.within_limits()
        wait_for("the stop relay to be on", lambda: self.outputs().get("stop_relay"))
        return daemon

    def commission(self):
        self.done("stage", "enter", "Commission", "--as", "S. Vane")
        wait_for("values", lambda: all(l["value"]["quality"] == "good" for l in self.picture()["limits"]))
        self.done("permit", "commission", "--as", "S. Vane", "--second", "T. Marsh")
        wait_for("the permit", lambda: self.outputs().get("raise_permit"))


class Programs(Site):
    def test_a_daemon_with_an_empty_folder_serves_on_hold_and_says_what_is_missing(self):
        daemon = self.start_daemon()
        status = self.say("status")
        self.assertEqual(NOTHING_TO_TRUST, status.returncode)
        self.assertIn("HOLD", status.stdout)
        self.crew()
        offered = self.say("offer", "--as", "T. Marsh")
        self.assertEqual(1, offered.returncode)
        self.assertIn("rig.yaml", offered.stderr)
        daemon.send_signal(signal.SIGTERM)
        self.assertEqual(0, daemon.wait())
        self.assertEqual(NOT_REACHABLE, self.say("status").returncode)

    def test_the_socket_is_for_owner_and_group_and_the_record_for_nobody_else(self):
        self.start_daemon()
        self.assertEqual(0o660, stat.S_IMODE((self.station / "standfast.sock").stat().st_mode))
        self.assertEqual(0, stat.S_IMODE((self.job / "record.db").stat().st_mode) & 0o007)

    def test_a_second_daemon_on_the_same_job_or_station_ends_and_leaves_the_first_alone(self):
        self.start_daemon()
        other = self.folder / "other"
        other.mkdir()
        for job, station in ((self.job, other), (other, self.station)):
            second = self.program(STANDFASTD, "--job", job, "--station", station, stderr=subprocess.PIPE, text=True)
            self.assertIn("another standfastd", second.stderr.read())
            second.stderr.close()
            self.assertIn(second.wait(), (69, 73))
        self.assertEqual(NOTHING_TO_TRUST, self.say("status").returncode)

    def test_a_record_that_is_not_ours_is_left_alone(self):
        with sqlite3.connect(self.job / "record.db") as foreign:
            foreign.execute("CREATE TABLE recipes (name)")
        foreign.close()
        before = (self.job / "record.db").read_bytes()
        daemon = self.program(STANDFASTD, "--job", self.job, "--station", self.station, stderr=subprocess.DEVNULL)
        self.assertEqual(78, daemon.wait())
        self.assertEqual(before, (self.job / "record.db").read_bytes())

    def test_a_record_of_no_length_is_served_on_hold_and_left_alone(self):
        (self.job / "record.db").touch()
        self.start_daemon()
        picture = self.picture()
        self.assertEqual("hold", picture["signal"]["level"])
        self.assertEqual("failed", picture["record"]["state"])
        self.assertEqual(b"", (self.job / "record.db").read_bytes())
        self.assertIn("--begin-new-record", picture["record"]["trouble"])

    def test_it_tells_its_keeper_when_it_is_ready_how_it_stands_that_it_lives_and_that_it_ends(self):
        with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as keeper:
            keeper.bind(str(self.folder / "notify"))
            keeper.settimeout(PATIENCE_S)
            daemon = self.start_daemon(NOTIFY_SOCKET=str(self.folder / "notify"))
            told = set()
            while not {"READY", "STATUS", "WATCHDOG"} <= told:
                told.add(keeper.recv(4096).decode().split("=")[0])
            daemon.send_signal(signal.SIGTERM)
            while "STOPPING" not in told:
                told.add(keeper.recv(4096).decode().split("=")[0])
            self.assertEqual(0, daemon.wait())

    def test_at_the_end_the_outputs_are_off_and_the_next_start_waits_for_somebody_to_look(self):
        """[fault-51]"""
        daemon = self.working_site()
        self.assertEqual(3, self.say("status").returncode)
        self.commission()
        self.assertEqual(0, self.say("status").returncode)
        daemon.send_signal(signal.SIGTERM)
        self.assertEqual(0, daemon.wait())
        for output in ("raise_permit", "stop_relay", "call_out"):
            self.assertFalse(self.outputs().get(output, False), output)
        self.start_daemon()
        self.assertEqual("Commission", self.picture()["stage"]["name"])
        self.assertFalse(self.picture()["permit"]["given"])
        self.assertEqual(HOLD, self.say("status").returncode)
        self.assertIn("the same decisions", self.done("replay", str(self.job)))

    def test_after_a_kill_the_module_drops_the_permit_and_nothing_that_was_confirmed_is_lost(self):
        """[fault-27]"""
        daemon = self.working_site()
        self.commission()
        confirmed = json.loads(self.done("enter", "note", "last words", "--as", "T. Marsh", "--json"))
        self.assertTrue(confirmed["recorded"])
        daemon.kill()
        daemon.wait()
        wait_for("the module's own watchdog", lambda: not self.outputs()["raise_permit"])
        self.start_daemon()
        self.assertFalse(self.picture()["permit"]["given"])
        self.assertEqual("hold", self.picture()["signal"]["level"])
        self.assertIn("last words", self.done("events"))
        wait_for("the outage in the record", lambda: "the daemon did not run" in self.done("events"))
        self.assertIn("the same decisions", self.done("replay", str(self.job)))

    def test_a_stopped_daemon_gives_no_heartbeat_and_the_module_drops_the_permit(self):
        """[fault-27]"""
        daemon = self.working_site()
        self.commission()
        daemon.send_signal(signal.SIGSTOP)
        wait_for("the module's own watchdog", lambda: not self.outputs()["raise_permit"])
        daemon.send_signal(signal.SIGCONT)
        wait_for("the outage to be seen", lambda: self.picture()["signal"]["level"] in ("hold", "stop"))

    def test_a_stop_is_anybodys_and_its_reset_needs_two(self):
        self.working_site()
        self.assertIn("STOP called", self.done("stop", "crack", "at", "needle", "2"))
        self.assertEqual(5, self.say("status").returncode)
        wait_for("the stop relay", lambda: not self.outputs()["stop_relay"])
        self.done("acknowledge", "all")
        listed = [f"\n  {reason}\n" for reason in self.picture()["job"]["reset_reasons"]]
        self.assertTrue(listed)
        unsaid = self.say("reset", "all", "--as", "S. Vane", "--second", "E. Quill")
        self.assertIn("a reset needs a reason\n", unsaid.stderr)
        for reason in listed:
            self.assertIn(reason, unsaid.stderr)
            self.assertIn(reason, self.say("alarms").stdout)
        alone = self.say("reset", "all", "--as", "S. Vane", "--reason", "no crack found")
        self.assertEqual(NOT_PERMITTED, alone.returncode)
        self.assertIn("second person", alone.stderr)
        same = self.say("reset", "all", "--as", "S. Vane", "--second", "S. Vane", "--reason", "no crack found")
        self.assertEqual(NOT_PERMITTED, same.returncode)
        self.done("reset", "all", "--as", "S. Vane", "--second", "E. Quill", "--reason", "no crack found")
        self.assertNotIn(listed[0].strip(), self.say("alarms").stdout)
        wait_for("the stop relay", lambda: self.outputs()["stop_relay"])

    def test_a_file_that_is_not_in_force_is_said_and_changes_nothing(self):
        daemon = self.working_site()
        before = self.picture()["job"]["plan_sha256"]
        (self.job / "stages.yaml").write_text((self.job / "stages.yaml").read_text() + "# a remark\n")
        daemon.send_signal(signal.SIGHUP)
        wait_for("the review", lambda: "stages.yaml on disk is not in force" in self.say("alarms").stdout)
        self.assertEqual(before, self.picture()["job"]["plan_sha256"])
        self.adopt()
        self.assertNotEqual(before, self.picture()["job"]["plan_sha256"])

    def test_what_is_decided_on_an_old_picture_is_refused_with_try_again(self):
        self.working_site()
        said = self.say("stage", "enter", "Commission", "--as", "S. Vane", "--seen", "1")
        self.assertEqual(75, said.returncode)

    def test_what_tells_of_a_simulated_job_says_so(self):
        """[fault-52]"""
        self.working_site()
        self.commission()
        tables = str(self.folder / "tables")
        for command in (["limits"], ["alarms"], ["readings"], ["stage", "show"], ["prove"], ["events"], ["silence"], ["permit", "end"],
                        ["stop"], ["check", str(self.job)], ["export", "--csv", tables], ["replay", str(self.job)], ["status"]):
            said = self.say(*command)
            self.assertIn("SIMULATED", said.stdout, command)
        refused = self.say("permit", "raise")
        self.assertIn("SIMULATED", refused.stderr)
        self.assertIn("say who acts: --as NAME", refused.stderr)

    def test_events_are_told_in_sentences_and_the_words_of_the_record_stay_in_json(self):
        daemon = self.working_site()
        self.commission()
        daemon.kill()
        daemon.wait()
        self.start_daemon()
        wait_for("the outage", lambda: "the daemon did not run" in self.done("events"))
        told = self.done("events")
        self.assertRegex(told, r"alarm 1 \(HOLD, start\) came: started: nobody has looked yet")
        self.assertIn("S. Vane (supervisor) asked to enter stage Commission", told)
        self.assertRegex(told, r"nothing was recorded from \d{4}-\S+ until \d{4}-\S+, [\d.]+ s: the daemon did not run")
        self.assertNotRegex(told, r"latched_|permit_give|stage_enter|->")
        lines = [json.loads(line) for line in self.done("events", "--json").splitlines()]
        self.assertTrue(any("normal -> unacknowledged" in line["text"] for line in lines))

    def test_an_export_goes_into_a_new_folder_and_nowhere_else(self):
        self.working_site()
        tables = self.folder / "tables"
        tables.mkdir()
        self.done("export", "--csv", str(tables))
        before = {path.name: path.stat().st_mtime_ns for path in tables.iterdir()}
        again = self.say("export", "--csv", str(tables))
        self.assertEqual(73, again.returncode)
        self.assertIn("not an empty folder", again.stderr)
        self.assertEqual(before, {path.name: path.stat().st_mtime_ns for path in tables.iterdir()})

    def test_what_was_done_is_said_in_words(self):
        self.working_site()
        self.assertIn("no alarm was open: nothing was reset", self.done("reset", "all", "--as", "S. Vane", "--reason", "looked"))
        self.assertIn("silent for 120 s, not 500 s", self.done("silence", "500s"))

    def test_lists_exports_and_pictures_are_for_machines_too(self):
        self.working_site()
        for command in (["status"], ["limits"], ["alarms"], ["readings"], ["stage", "show"], ["prove"], ["people", "list"],
                        ["check", str(self.job)], ["export", "--csv", str(self.folder / "tables")], ["replay", str(self.job)]):
            answer = json.loads(self.say(*command, "--json").stdout)
            self.assertTrue(answer["schema"].startswith("standfast-"), command)
            self.assertIn("time", answer, command)
        for line in self.done("events", "--json").splitlines():
            self.assertEqual("standfast-event-1", json.loads(line)["schema"])
        self.assertTrue(list((self.folder / "tables").glob("*.csv")))


class Words(Site):
    def test_typing_errors_end_with_64_and_a_hint(self):
        for words in (["statsu"], [], ["reset"], ["status", "--loud"], ["permit", "rise"], ["shift"], ["permit", "raise", "--as"],
                      ["limits", "all"], ["check", "a", "b"], ["--loud"]):
            said = self.say(*words) if words else subprocess.run([STANDFAST], capture_output=True, text=True)
            self.assertEqual(USAGE, said.returncode, words)
            self.assertTrue(said.stderr, words)
            self.assertNotIn("operands", said.stderr, words)
        self.assertIn("did you mean 'status'", self.say("statsu").stderr)
        self.assertIn("did you mean '--reason'", self.say("reset", "all", "--reasn", "x").stderr)
        self.assertIn("did you mean 'raise'", self.say("permit", "rise").stderr)

    def test_help_and_version_end_with_0(self):
        for words in (["--help"], ["help"], ["--version"], ["reset", "--help"]):
            said = subprocess.run([STANDFAST, *words], capture_output=True, text=True)
            self.assertEqual(0, said.returncode)
            self.assertNotRegex(said.stdout, "operands|SUBCOMMAND|Positionals")
        self.assertEqual(0, subprocess.run([STANDFASTD, "--version"], capture_output=True).returncode)
        self.assertEqual(USAGE, subprocess.run([STANDFASTD], capture_output=True).returncode)

    def test_check_says_every_error_with_its_place_and_ends_with_1(self):
        (self.job / "rig.yaml").write_text(replaced((GRAIN_STORE / "rig.yaml").read_text(), "area: 95.03 cm2", "area: 95.03"))
        (self.job / "stages.yaml").write_text((GRAIN_STORE / "stages.yaml").read_text())
        said = self.say("check", str(self.job))
        self.assertEqual(1, said.returncode)
        self.assertRegex(said.stdout, r"rig\.yaml:\d+:\d+: error: ")
        self.assertIn("cannot come into force", said.stdout)
        self.assertIn("stages.yaml: not looked at yet", said.stdout)
        self.assertEqual(66, self.say("check", str(self.folder)).returncode)
        a_file = self.say("check", str(self.job / "rig.yaml"))
        self.assertEqual(66, a_file.returncode)
        self.assertIn("is a file; `check` wants the folder", a_file.stderr)

    def test_check_tells_of_a_certificate_that_has_run_out_and_refuses_nothing(self):
        (self.job / "rig.yaml").write_text(replaced((GRAIN_STORE / "rig.yaml").read_text(), "number: G-201, due: 2099-12-31",
                                                    "number: G-201, due: 2020-02-29"))
        (self.job / "stages.yaml").write_text((GRAIN_STORE / "stages.yaml").read_text())
        said = self.say("check", str(self.job))
        self.assertEqual(0, said.returncode)
        self.assertRegex(said.stdout, r"rig\.yaml:\d+:3: warning: certificate G-201 of channel G1 was due on 2020-02-29")
        self.assertIn("stages.yaml: nothing to complain about\n", said.stdout)

    def test_check_blames_the_file_that_is_wrong_and_no_other(self):
        (self.job / "rig.yaml").write_text((GRAIN_STORE / "rig.yaml").read_text())
        (self.job / "stages.yaml").write_text(replaced((GRAIN_STORE / "stages.yaml").read_text(), "kind: raise", "kind: rise"))
        said = self.say("check", str(self.job)).stdout
        self.assertIn("rig.yaml: nothing to complain about\n", said)
        self.assertRegex(said, r"stages\.yaml: \d errors?; this job cannot come into force")

    def test_rehearse_passes_over_what_is_no_rehearsal_and_goes_on(self):
        scenarios = sorted(str(path) for path in SCENARIOS.glob("*.yaml"))
        said = self.say("rehearse", *scenarios)
        self.assertEqual(0, said.returncode, said.stderr)
        self.assertIn("stages.yaml: passed over, it is a plan and no rehearsal", said.stderr)
        self.assertIn(f"{len(scenarios) - 1} passed, 0 failed, 1 passed over", said.stdout)
        self.assertEqual(65, self.say("rehearse", str(SCENARIOS / "stages.yaml")).returncode)

    def test_the_first_engineer_is_the_owners_to_make_and_everybody_else_an_engineers(self):
        self.assertEqual(NOT_PERMITTED, self.say("people", "add", "S. Vane", "--role", "supervisor").returncode)
        self.done("people", "add", "E. Quill", "--role", "engineer")
        self.assertEqual(NOT_PERMITTED, self.say("people", "add", "S. Vane", "--role", "supervisor").returncode)
        self.done("people", "add", "S. Vane", "--role", "supervisor", "--as", "E. Quill")
        self.assertEqual(NOT_PERMITTED, self.say("people", "add", "P. Reed", "--role", "engineer", "--as", "S. Vane").returncode)
        added = json.loads(self.done("people", "add", "P. Reed", "--role", "technician", "--as", "E. Quill", "--json"))
        self.assertEqual(["P. Reed"], [each["name"] for each in added["people"]])
        self.assertEqual((["technician"], "", "E. Quill"), tuple(added["people"][0][key] for key in ("roles", "ended", "added_by")))
        ended = json.loads(self.done("people", "end", "S. Vane", "--as", "E. Quill", "--json"))
        self.assertEqual(ended["time"][:10], ended["people"][0]["ended"][:10])
        self.assertEqual("S. Vane", ended["people"][0]["name"])
        self.assertIn("S. Vane", self.done("people", "list"))

    def test_without_a_daemon_every_question_ends_with_69(self):
        for words in (["status"], ["stop"], ["limits"], ["acknowledge", "all"]):
            self.assertEqual(NOT_REACHABLE, self.say(*words).returncode)
        self.assertIn("STOP WAS NOT CALLED: no daemon answers. Press the stop on site, shut off the pump.", self.say("STOP").stderr)
        self.assertIn("No daemon answers: nothing is watched, take it as HOLD.", self.say("status").stderr)


if __name__ == "__main__":
    STANDFASTD, STANDFAST, RIG = sys.argv[1:4]
    unittest.main(argv=sys.argv[:1] + sys.argv[4:], verbosity=2)
