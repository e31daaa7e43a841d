"""The output module on every wire it may have: TCP, a serial line of its own, one that it shares with instruments."""
import sys
import unittest

import program_test
from program_test import HOLD, replaced, wait_for
from rig_site import RigSite

LINE = "{{modbus_rtu: {{device: {device}, baud: 115200, parity: even, stop_bits: 1}}, timeout: 200 ms}}"


class EachWire:
    """Not run by itself: what holds on every wire."""
    def test_a_permit_is_given_and_withdrawn_by_command(self):
        self.armed()
        before = self.log_lines()
        self.done("permit", "end")
        wait_for("the contact", lambda: not self.contact("raise_permit"))
        self.assertEqual([(False, "coil")], self.changes_of("raise_permit", before))
        self.permit_anew()
        self.done("stop")
        wait_for("the contacts", lambda: not self.contact("raise_permit") and not self.contact("stop_relay"))
        self.assertEqual([(False, "coil")], self.changes_of("stop_relay", before))

    def test_an_instrument_that_falls_silent_withdraws_the_permit_by_command(self):
        self.armed()
        before = self.log_lines()
        self.obeys(f"unit {self.pressure_unit} silent")  # Each poll of it now takes the line for its whole time-out.
        wait_for("the contact", lambda: not self.contact("raise_permit"))
        self.assertEqual([(False, "coil")], self.changes_of("raise_permit", before))
        self.assertEqual(HOLD, self.say("status").returncode)

    def test_a_module_that_is_no_longer_reached_is_a_hold_and_drops_the_permit_by_itself(self):
        self.armed()
        before = self.log_lines()
        self.obeys("module cable pulled")
        wait_for("HOLD output module", lambda: self.alarm("output module"))
        wait_for("the module's own watchdog", lambda: not self.contact("raise_permit"))
        self.assertEqual([(False, "watchdog")], self.changes_of("raise_permit", before))
        self.obeys("module cable back")
        wait_for("answers", lambda: self.output("stop_relay")["read_back"])
        self.assertNotIn("raise_permit", self.energised_since(before))

    def test_a_daemon_that_is_killed_leaves_no_permit_and_a_new_one_brings_none_back(self):
        daemon = self.armed()
        before = self.log_lines()
        daemon.kill()
        daemon.wait()
        wait_for("the module's own watchdog", lambda: not self.contact("raise_permit") and not self.contact("call_out"))
        self.assertEqual([(False, "watchdog")], self.changes_of("raise_permit", before))
        self.start_daemon()
        wait_for("the module", lambda: self.contact("call_out"))
        self.assertFalse(self.contact("raise_permit"))


class OverTcp(EachWire, RigSite):
    pressure_unit = "1"


class OnALineOfItsOwn(EachWire, RigSite):
    pressure_unit = "1"

    def rig_text(self, text):
        bus = "buses:\n  relays: " + LINE.format(device=self.folder / "relays")
        return replaced(replaced(text, "buses:", bus, 1), "output_module:\n  bus: manifold", "output_module:\n  bus: relays")


class OnALineWithInstruments(EachWire, RigSite):
    pressure_unit = "line 3"

    def rig_text(self, text):
        text = replaced(text, "buses:", "buses:\n  line: " + LINE.format(device=self.folder / "line"), 1)
        text = replaced(text, "output_module:\n  bus: manifold", "output_module:\n  bus: line")
        text = replaced(text, "bus: manifold, unit_id: 9", "bus: line, unit_id: 9")
        for pressure in ("P1", "P2"):
            text = replaced(text, f"{pressure}: {{bus: manifold, unit_id: 1", f"{pressure}: {{bus: line, unit_id: 3")
        return text


if __name__ == "__main__":
    program_test.STANDFASTD, program_test.STANDFAST, program_test.RIG = sys.argv[1:4]
    unittest.main(argv=sys.argv[:1] + sys.argv[4:], verbosity=2)
