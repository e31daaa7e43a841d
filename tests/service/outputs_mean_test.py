"""What each output means on the rig's contacts: who is called, who may lower."""
import json
import signal
import sys
import unittest

import program_test
from program_test import replaced, wait_for
from rig_site import RigSite


LOG_LATE_MS = 500  # An entry bears the time of the rig's step before it, which on a busy machine is not quite its own.


class CallOut(RigSite):
    def unattended_site(self):
        """In a stage where nobody stands by, whose plan calls out three seconds after a HOLD."""
        self.start_rig()
        plan = self.job / "stages.yaml"
        unattended = "kind: baseline\n    unattended: {call_out_after: 3 s}\n"
        plan.write_text(replaced(plan.read_text(), "kind: baseline\n", unattended))
        daemon = self.start_daemon()
        self.crew()
        self.adopt()
        self.within_limits()
        self.done("stage", "skip", "Commission", "--as", "E. Quill", "--second", "S. Vane", "--reason", "nothing is raised today")
        self.done("stage", "enter", "Baseline", "--as", "S. Vane")
        wait_for("call out at rest", lambda: self.contact("call_out"))
        return daemon

    def test_it_is_energised_while_nothing_calls_and_a_stop_drops_it(self):
        self.armed()
        self.assertTrue(self.contact("call_out"))
        self.done("stop", "crack in the wall")
        wait_for("the call", lambda: not self.contact("call_out"))

    def test_where_nobody_stands_by_a_hold_calls_after_the_plans_delay(self):
        self.unattended_site()
        before = self.log_lines()
        self.obeys("gauge P1 unplugged")
        wait_for("HOLD", lambda: self.level() == "hold")
        wait_for("the call", lambda: not self.contact("call_out"))
        wait_for("the log of it", lambda: self.changes_of("call_out", before))
        self.assertEqual([(False, "coil")], self.changes_of("call_out", before))
        unplugged, called = (entry["t_ms"] for entry in self.logged_since(before) if "command" in entry or entry["output"] == "call_out")
        self.assertGreaterEqual(called - unplugged, 3000 - LOG_LATE_MS)
        self.assertEqual("hold", self.level())
        self.assertTrue(self.contact("stop_relay"))
        self.obeys("mend P1")
        wait_for("readings", lambda: all(c["reading"]["quality"] == "good" for c in self.picture()["channels"]))
        wait_for("the reset", lambda: self.reset_is_taken())
        wait_for("call out at rest", lambda: self.contact("call_out"))

    def reset_is_taken(self):
        self.done("acknowledge", "all")
        return self.say("reset", "all", "--as", "S. Vane", "--second", "E. Quill", "--reason", "plug seated").returncode == 0

    def test_a_dead_daemon_calls_by_the_modules_own_watchdog(self):
        daemon = self.unattended_site()
        daemon.send_signal(signal.SIGKILL)
        wait_for("the call", lambda: not self.contact("call_out"))


class LowerPermit(RigSite):
    def jacks(self):
        return {jack["name"]: jack["kN"] for jack in json.loads(self.obeys("state"))["jacks"]}

    def test_it_closes_for_a_recover_permit_downwards_and_for_no_other(self):
        self.armed()
        self.assertFalse(self.contact("lower_permit"))  # A permit to raise stands.
        self.obeys("raise J1 J2 J3 J4 to 20 kN each at 20 kN/s")
        wait_for("load", lambda: min(self.jacks().values()) > 18)
        self.obeys("stop pump")
        self.obeys("module restarted")
        wait_for("agreement", lambda: (self.alarm("output raise permit") or {"state": ""})["state"].startswith("latched"))
        self.assertFalse(self.contact("lower_permit"))
        self.done("permit", "recover", "J1 J3 down to 5 kN", "--as", "S. Vane", "--second", "T. Marsh")
        wait_for("the lower permit", lambda: self.contact("lower_permit"))
        self.assertFalse(self.contact("raise_permit"))
        self.obeys("lower J1 J3 to 2 kN each at 10 kN/s")
        wait_for("the bound", lambda: not self.contact("lower_permit"))
        self.assertEqual("hold", self.level())


if __name__ == "__main__":
    program_test.STANDFASTD, program_test.STANDFAST, program_test.RIG = sys.argv[1:4]
    unittest.main(argv=sys.argv[:1] + sys.argv[4:], verbosity=2)
