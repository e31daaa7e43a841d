"""The unit as systemd itself judges it: it can be read, it may do little, and it agrees with the daemon and with its own files."""
import pathlib
import re
import subprocess
import tempfile
import unittest

import tree

UNIT = "systemd/standfast.service"
EXPOSURE_MOST = 20  # Tenths: 2.0 of 10, where a unit that says nothing has 9.6.


def analyze(*words):
    return subprocess.run(["systemd-analyze", *words], capture_output=True, text=True)


def setting(name):
    return re.findall(rf"(?m)^{name}=(.*)$", tree.text(UNIT))


class Unit(unittest.TestCase):
    def test_systemd_finds_nothing_wrong_with_it(self):
        daemon = tree.BUILD / "daemon/standfastd"
        self.assertTrue(daemon.exists())
        with tempfile.TemporaryDirectory() as folder:
            unit = pathlib.Path(folder, "standfast.service")
            unit.write_text(tree.text(UNIT).replace("/usr/bin/standfastd", str(daemon)))
            said = analyze("verify", "--man=no", str(unit))
        self.assertEqual((0, ""), (said.returncode, said.stderr))

    def test_it_may_do_little(self):
        said = analyze("security", "--offline=true", f"--threshold={EXPOSURE_MOST}", str(tree.ROOT / UNIT))
        self.assertEqual(0, said.returncode, said.stdout + said.stderr)

    def test_it_is_started_again_however_often_it_ends_and_is_ended_when_a_thread_stands_still(self):
        self.assertEqual((["notify"], ["always"], ["0"], ["20"]),
                         tuple(setting(name) for name in ("Type", "Restart", "StartLimitIntervalSec", "WatchdogSec")))

    def test_it_bounds_descriptors_as_the_daemon_does_and_waits_for_its_end_longer_than_the_daemon_itself(self):
        main = tree.text("daemon/main.cpp")
        self.assertEqual(re.findall(r"most_descriptors = (\d+);", main), setting("LimitNOFILE"))
        self.assertGreater(int(setting("TimeoutStopSec")[0]), int(re.search(r"end_within_s = (\d+);", main)[1]))

    def test_its_folders_are_those_that_the_programs_look_in(self):
        places = tree.text("daemon/service/places.hpp")
        self.assertEqual([f"/var/lib/{setting('StateDirectory')[0]}"], re.findall(r'default_station = "(.*)"', places))
        self.assertEqual([f"/run/{setting('RuntimeDirectory')[0]}"], re.findall(r'default_run_folder = "(.*)"', places))
        job = re.search(r"--job (\S+)", setting("ExecStart")[0])[1]
        self.assertIn(f"\nd {job} 0750 standfast standfast -\n", tree.text("systemd/standfast.tmpfiles"))

    def test_every_class_of_device_that_it_may_open_is_known_to_the_kernel_before_it_starts(self):
        modules = re.findall(r"(?m)^(\w+)$", tree.text("systemd/standfast.modules-load"))
        # Which module makes which class: Linux, drivers/usb/serial/usb-serial.c and drivers/usb/class/cdc-acm.c; from memory.
        made_by = {"usbserial": "char-ttyUSB rw", "cdc_acm": "char-ttyACM rw"}
        built_in = "char-ttyS rw"
        self.assertEqual({*(made_by[module] for module in modules), built_in}, set(setting("DeviceAllow")))


if __name__ == "__main__":
    tree.main()
