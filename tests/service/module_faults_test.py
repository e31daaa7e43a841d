"""What can befall the output module, on the wire where it befalls it: the simulated rig's module against the real daemon."""
import sys
import unittest

import program_test
from program_test import wait_for
from rig_site import RigSite


class ModuleFaults(RigSite):
    def permit_is_gone(self, subject, level):
        wait_for(f"{level} {subject}", lambda: (self.alarm(subject) or {}).get("level") == level)
        self.assertFalse(self.picture()["permit"]["given"])
        wait_for("the permit's coil", lambda: not self.output("raise_permit")["wanted"] and not self.output("raise_permit")["written"])

    def test_a_module_that_refuses_every_write_is_a_hold_that_stays_when_it_writes_again(self):
        """[fault-21]"""
        self.armed()
        for trouble in ("failing", "silent"):
            self.obeys(f"unit 9 {trouble}")
            wait_for("HOLD output module", lambda: self.alarm("output module"))
            self.assertEqual("hold", self.alarm("output module")["level"])
            self.assertFalse(self.picture()["permit"]["given"])
            wait_for("the module's own watchdog", lambda: not self.contact("raise_permit"))
            before = self.log_lines()
            self.obeys("unit 9 answers")
            wait_for("answers", lambda: not self.picture()["outputs"]["silent"] and self.output("stop_relay")["read_back"])
            self.assertEqual("hold", self.level())
            self.assertNotIn("raise_permit", self.energised_since(before))
            wait_for("inputs", lambda: all(i["known"] for i in self.picture()["inputs"]))
            self.looked_at()
            self.permit_anew()

    def test_what_is_shown_of_an_output_is_what_was_read_back(self):
        """[fault-21]"""
        self.working_site()
        self.obeys("contact beacon welded")
        wait_for("the contact", lambda: self.output("beacon")["read_back"])
        shown = self.output("beacon")
        self.assertEqual((False, False), (shown["wanted"], shown["written"]))

    def test_a_contact_that_stays_open_is_a_hold_that_latches(self):
        """[fault-22]"""
        self.armed()
        self.obeys("contact raise_permit open")
        self.permit_is_gone("output raise permit", "hold")
        self.obeys("mend raise_permit")
        wait_for("agreement", lambda: self.alarm("output raise permit")["state"].startswith("latched"))
        self.assertEqual("hold", self.level())

    def test_a_contact_that_stays_closed_is_a_stop_that_latches(self):
        """[fault-22]"""
        self.armed()
        self.obeys("contact raise_permit welded")
        self.done("permit", "end")
        self.permit_is_gone("output raise permit", "stop")
        wait_for("the stop relay", lambda: not self.contact("stop_relay"))
        self.obeys("mend raise_permit")
        wait_for("agreement", lambda: self.alarm("output raise permit")["state"].startswith("latched"))
        self.assertEqual("stop", self.level())

    def test_a_module_with_a_wrong_setting_gets_no_permit_and_its_register_is_named(self):
        """[fault-23]"""
        self.working_site()
        self.done("stage", "enter", "Commission", "--as", "S. Vane")
        wait_for("values", lambda: all(l["value"]["quality"] == "good" for l in self.picture()["limits"]))
        for wrong, right, register in (("watchdog 0", "watchdog 20", 40), ("on-watchdog value 1", "on-watchdog value 0", 41),
                                       ("power-on value 1", "power-on value 0", 42)):
            before = self.log_lines()
            self.obeys(f"module {wrong}")
            self.done("permit", "commission", "--as", "S. Vane", "--second", "T. Marsh")  # Settings are read before the coil is.
            subject = f"output module register {register}"
            wait_for(subject, lambda: self.alarm(subject))
            self.assertEqual("hold", self.alarm(subject)["level"])
            self.assertFalse(self.picture()["permit"]["given"])
            self.assertNotIn("raise_permit", self.energised_since(before))
            self.obeys(f"module {right}")
            self.obeys("module cable pulled")  # They are read again on a fresh connection.
            wait_for("silence", lambda: self.alarm("output module"))
            self.obeys("module cable back")
            wait_for("settings as stated", lambda: self.alarm(subject)["state"].startswith("latched"))
            wait_for("readings", lambda: all(c["reading"]["quality"] == "good" for c in self.picture()["channels"]))
            self.looked_at()

    def test_a_module_that_is_wrong_from_the_start_refuses_with_the_registers_number(self):
        """[fault-23]"""
        self.start_rig()
        self.obeys("module watchdog 0")
        self.start_daemon()
        self.crew()
        self.adopt()
        wait_for("the register", lambda: self.alarm("output module register 40"))
        self.done("stage", "enter", "Commission", "--as", "S. Vane")
        refused = self.say("permit", "commission", "--as", "S. Vane", "--second", "T. Marsh")
        self.assertNotEqual(0, refused.returncode)
        self.assertNotIn("raise_permit", self.energised_since(0))

    def test_a_module_that_restarts_is_a_hold_and_its_permit_comes_back_only_anew(self):
        """[fault-24]"""
        self.armed()
        before = self.log_lines()
        self.obeys("module restarted")
        self.permit_is_gone("output raise permit", "hold")
        wait_for("agreement", lambda: self.alarm("output raise permit")["state"].startswith("latched"))
        self.assertFalse(self.contact("raise_permit"))
        self.looked_at()
        self.assertFalse(self.picture()["permit"]["given"])
        self.assertNotIn("raise_permit", self.energised_since(before))
        self.permit_anew()

    def test_another_master_that_takes_the_permit_is_a_hold(self):
        """[fault-25]"""
        self.armed()
        before = self.log_lines()
        self.obeys("second master writes raise_permit off")
        self.permit_is_gone("output raise permit", "hold")
        self.assertNotIn("raise_permit", self.energised_since(before))

    def test_another_master_that_gives_a_permit_is_written_off_and_one_that_goes_on_is_a_stop(self):
        """[fault-25]"""
        self.working_site()
        self.obeys("second master writes raise_permit on")
        wait_for("the coil to be written off", lambda: not self.contact("raise_permit"))
        wait_for("HOLD", lambda: self.level() == "hold")
        self.assertEqual("output-energised-by-another", self.alarm("output raise permit")["cause"])

        def stopped():
            self.obeys("second master writes raise_permit on")
            return self.level() == "stop"
        wait_for("STOP", stopped)
        stops = [a for a in self.picture()["alarms"] if a["level"] == "stop"]
        self.assertEqual([("output raise permit", "output-stuck-on")], [(a["subject"], a["cause"]) for a in stops])
        wait_for("the stop relay", lambda: not self.contact("stop_relay"))

    def test_a_module_that_no_longer_sees_the_heartbeat_drops_the_permit_and_that_is_a_hold(self):
        """[fault-24][fault-26]"""
        self.armed()
        self.obeys("module blind")
        self.permit_is_gone("output raise permit", "hold")
        self.assertFalse(self.contact("raise_permit"))


if __name__ == "__main__":
    program_test.STANDFASTD, program_test.STANDFAST, program_test.RIG = sys.argv[1:4]
    unittest.main(argv=sys.argv[:1] + sys.argv[4:], verbosity=2)
