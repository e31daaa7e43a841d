"""The judge of the demonstration: it takes what must have come, and nothing less, nothing more, in no other order."""
import copy
import pathlib
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "tools/demo"))

import expected  # noqa: E402
from parts import NotAsExpected  # noqa: E402


def alarms():
    """Subject, level, first-out, as the record has them."""
    found = []
    for first, others in expected.EPISODES:
        found.append((*first, 1))
        found.extend((*other, 0) for other in sorted(others))
    return found


def switched(output, causes):
    log = []
    for by in causes:
        log += [{"output": output, "on": True, "by": "coil"}, {"output": output, "on": False, "by": by}]
    return log


def module():
    beacons = [{"output": "beacon", "on": on, "by": "coil"} for _ in expected.EPISODES for on in (True, False)]
    return switched("raise_permit", expected.PERMITS) + switched("stop_relay", expected.STOP_RELAY) + beacons


class Judge(unittest.TestCase):
    def refused(self, module_log, alarm_list, words):
        with self.assertRaisesRegex(NotAsExpected, words):
            expected.judge(module_log, alarm_list)

    def test_what_must_come_is_taken(self):
        expected.judge(module(), alarms())

    def test_a_missing_alarm_is_not(self):
        for place, (subject, _, first_out) in enumerate(alarms()):
            less = alarms()
            del less[place]
            with self.subTest(subject):
                with self.assertRaises(NotAsExpected):
                    expected.judge(module(), less)
                if not first_out:
                    self.refused(module(), less, "signal \\d: expected")

    def test_a_missing_last_signal_is_not(self):
        last = len(expected.EPISODES[-1][1]) + 1
        self.refused(module(), alarms()[:-last], "number of signals")

    def test_another_order_is_not(self):
        firsts = [place for place, alarm in enumerate(alarms()) if alarm[2]]
        for one, other in zip(firsts[1:], firsts[2:]):
            turned = alarms()
            turned[one], turned[other] = turned[other], turned[one]
            self.refused(module(), turned, "signal \\d: expected")

    def test_an_extra_signal_is_not_wherever_it_comes(self):
        for place in [0, 3, len(alarms())]:
            more = alarms()
            more.insert(place, ("record", "hold", 1))
            with self.assertRaises(NotAsExpected):
                expected.judge(module(), more)
        self.refused(module(), alarms() + [("record", "hold", 1)], "number of signals")

    def test_an_extra_alarm_behind_a_signal_is_not(self):
        self.refused(module(), alarms() + [("record", "hold", 0)], "signal 4: expected")

    def test_another_first_out_is_not(self):
        wrong = alarms()
        first = next(place for place, alarm in enumerate(wrong) if alarm[0] == expected.RATE)
        stop = next(place for place, alarm in enumerate(wrong) if alarm[:2] == (expected.HEAD, "stop"))
        wrong[first], wrong[stop] = (*wrong[first][:2], 1), (*wrong[stop][:2], 0)
        self.refused(module(), wrong, "signal")

    def test_another_level_is_not(self):
        lighter = [(subject, "hold" if (subject, level) == (expected.HEAD, "stop") else level, first) for subject, level, first in alarms()]
        self.refused(module(), lighter, "signal 4")

    def test_an_alarm_before_any_first_out_is_not(self):
        self.refused(module(), [("start", "hold", 0)] + alarms(), "no first-out before it")

    def test_a_permit_dropped_once_less_once_more_or_by_something_else_is_not(self):
        off = [place for place, entry in enumerate(module()) if entry["output"] == "raise_permit" and not entry["on"]]
        less = module()
        del less[off[3] - 1:off[3] + 1]
        self.refused(less, alarms(), "the permit's contact")
        self.refused(module() + switched("raise_permit", ["coil"]), alarms(), "the permit's contact")
        other = copy.deepcopy(module())
        other[off[0]]["by"] = "coil"
        self.refused(other, alarms(), "the permit's contact")

    def test_a_relay_that_never_closed_the_valves_is_not(self):
        self.refused([entry for entry in module() if entry["output"] != "stop_relay"], alarms(), "the relay that closes the valves")

    def test_a_beacon_that_was_lit_once_too_often_is_not(self):
        self.refused(module() + [{"output": "beacon", "on": True, "by": "coil"}], alarms(), "times the beacon was lit")


if __name__ == "__main__":
    unittest.main(verbosity=2)
