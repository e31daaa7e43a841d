"""Files that are wrong or change, with a permit on the wire: what is in force stays in force until two persons say otherwise."""
import re
import signal
import sys
import unittest

import program_test
from program_test import replaced, wait_for
from rig_site import RigSite

# What is done to rig.yaml, and the code of what is then said about it.
WRONG = {
    "a key twice": (lambda text: text.replace("settle: 300 ms", "settle: 300 ms\n  settle: 300 ms"), "E-key-twice"),
    "an unknown key": (lambda text: text.replace("settle:", "setle:"), "E-key-unknown"),
    "a number that reads as octal": (lambda text: text.replace("unit_id: 9\n", "unit_id: 010\n"), "E-number"),
    "no number at all": (lambda text: text.replace("limit: 150 mm", "limit: .nan mm"), "E-number"),
    "a number in quotes": (lambda text: text.replace("unit_id: 9\n", "unit_id: '9'\n"), "E-quoted"),
    "another dimension": (lambda text: text.replace("rated: 665 kN", "rated: 665 bar"), "E-unit-dimension"),
    "high below low": (lambda text: text.replace("range: [0 mm, 150 mm]", "range: [150 mm, 0 mm]"), "E-range"),
    "something left out": (lambda text: text.replace("rated: 665 kN, ", "", 1), "E-key-missing"),
    "an anchor": (lambda text: text.replace("settle: 300 ms", "settle: &s 300 ms"), "E-anchor"),
    "a cyclic alias": (lambda text: text.replace("settle: 300 ms", "settle: &s [*s]"), "E-anchor"),
    "a merge key": (lambda text: text.replace("settle:", "<<: {unit_id: 9}\n  settle:"), "E-merge-key"),
    "two documents": (lambda text: text + "---\nrig: another\n", "E-second-document"),
    "a tab": (lambda text: text.replace("  settle:", "\tsettle:"), "E-tab"),
    "a byte order mark": (lambda text: "\ufeff" + text, "E-encoding"),
    "lines of another system": (lambda text: text.replace("\n", "\r\n"), "E-line-end"),
    "a byte of nought": (lambda text: text.replace("settle: 300", "settle: \0300"), "E-control-character"),
    "ten megabytes": (lambda text: text + "# x\n" * 2_500_000, "E-file-unreadable"),
    "half a megabyte": (lambda text: text + "# x\n" * 125_000, "E-file-size"),
    "a hundred thousand levels": (lambda text: text + "deep: " + "[" * 100_000 + "\n", "E-line-long"),
    "many levels": (lambda text: text + "deep: " + "[" * 900 + "\n", "E-too-deep"),
    "cut short": (lambda text: text[:len(text) // 2].rstrip("\n"), "E-cut-short"),
    "nothing": (lambda text: "", "E-empty-file"),
}


class FileFaults(RigSite):
    def in_force(self):
        job = self.picture()["job"]
        return job["rig_sha256"], job["plan_sha256"]

    def test_a_bad_file_is_refused_with_its_place_and_what_is_in_force_stays_with_its_permit(self):
        """[fault-40]"""
        daemon = self.armed()
        before, rig = self.in_force(), self.job / "rig.yaml"
        good = rig.read_text()
        for name, (spoil, code) in WRONG.items():
            with self.subTest(name):
                bad = spoil(good)
                self.assertNotEqual(good, bad)
                rig.write_bytes(bad.encode())
                daemon.send_signal(signal.SIGHUP)
                refused = self.say("offer", "--as", "T. Marsh")
                self.assertEqual(1, refused.returncode, refused.stdout + refused.stderr)
                said = refused.stdout + refused.stderr
                self.assertIn(code, said)
                self.assertRegex(said, r"rig\.yaml: " if code == "E-file-unreadable" else r"rig\.yaml:[1-9]\d*:[1-9]\d*: ")
                self.assertEqual(before, self.in_force())
                self.assertTrue(self.contact("raise_permit"))
        rig.unlink()
        self.assertEqual(1, self.say("offer", "--as", "T. Marsh").returncode)
        self.assertEqual(before, self.in_force())
        self.assertTrue(self.contact("raise_permit"))

    def test_at_the_start_a_bad_file_leaves_the_outputs_off_and_the_reason_on_the_screen(self):
        """[fault-40]"""
        self.start_rig()
        (self.job / "rig.yaml").write_text(replaced((self.job / "rig.yaml").read_text(), "settle:", "setle:"))
        self.start_daemon()
        self.assertEqual("hold", self.level())
        self.assertEqual(set(), self.energised_since(0))
        self.crew()
        refused = self.say("offer", "--as", "T. Marsh")
        self.assertRegex(refused.stdout + refused.stderr, r"rig\.yaml:\d+:\d+")
        self.assertEqual(set(), self.energised_since(0))

    def test_a_plan_changed_under_a_permit_comes_into_force_by_two_named_persons_and_ends_the_permit(self):
        """[fault-41]"""
        daemon = self.armed()
        before = self.in_force()
        plan = self.job / "stages.yaml"
        plan.write_text(replaced(plan.read_text(), "pressure_limit: 40 bar", "pressure_limit: 30 bar"))
        daemon.send_signal(signal.SIGHUP)
        wait_for("the review", lambda: "stages.yaml on disk is not in force" in self.say("alarms").stdout)
        self.assertEqual(before, self.in_force())
        self.assertTrue(self.contact("raise_permit"))
        lines = self.log_lines()
        revision = re.search(r"revision (\w+)", self.done("check", str(self.job)))[1]
        self.done("offer", "--as", "T. Marsh")
        self.assertNotEqual(0, self.say("adopt", revision, "--as", "E. Quill").returncode)
        self.assertTrue(self.contact("raise_permit"))
        self.done("adopt", revision, "--as", "E. Quill", "--second", "S. Vane")
        self.assertNotEqual(before, self.in_force())
        wait_for("the permit's contact to open", lambda: not self.contact("raise_permit"))
        self.assertFalse(self.picture()["permit"]["given"])
        self.assertNotIn("raise_permit", self.energised_since(lines))
        self.assertRegex(self.done("events"),
                         rf"E\. Quill \(engineer\) and S\. Vane \(supervisor\) asked to put revision {revision} in force")


if __name__ == "__main__":
    program_test.STANDFASTD, program_test.STANDFAST, program_test.RIG = sys.argv[1:4]
    unittest.main(argv=sys.argv[:1] + sys.argv[4:], verbosity=2)
