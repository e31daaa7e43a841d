"""`standfast rehearse` as a program: what it says of a rehearsal that fails, and how it ends. Needs no daemon."""
import json
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest

STANDFAST = ""
SCENARIOS = pathlib.Path(__file__).resolve().parent
RIGHT, WRONG = SCENARIOS / "005-stop-called.yaml", SCENARIOS / "wrong/signal.yaml"
EXAMPLE = SCENARIOS.parents[1] / "config/examples/grain-store"
DONE, FINDINGS, BAD_INPUT, NO_INPUT = 0, 1, 65, 66


def rehearse(*files):
    return subprocess.run([STANDFAST, "rehearse", *map(str, files)], capture_output=True, text=True)


class Rehearse(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.broken = pathlib.Path(folder.name) / "broken.yaml"
        self.broken.write_text(f"rehearsal: Broken\nfollows: {RIGHT}\nlasts: 5\n")

    def test_a_rehearsal_that_goes_as_it_says_ends_with_0(self):
        said = rehearse(RIGHT)
        self.assertEqual(DONE, said.returncode, said.stdout + said.stderr)
        self.assertRegex(said.stdout, r"passed  Anybody calls stop.* \(\d+ checks\)\n1 passed, 0 failed; in simulated time\n")

    def test_one_that_does_not_ends_with_1_and_names_file_line_instant_and_what_was(self):
        line = WRONG.read_text().split("  # fails: ")[0].count("\n") + 1
        said = rehearse(RIGHT, WRONG)
        self.assertEqual(FINDINGS, said.returncode)
        self.assertIn("FAILED  Expects a STOP", said.stdout)
        self.assertIn(f"{WRONG}:{line}: at 8.000 s: signal: expected STOP, was HOLD\n", said.stdout)
        self.assertIn("1 passed, 1 failed; in simulated time\n", said.stdout)

    def test_machines_are_told_the_same(self):
        said = rehearse("--json", WRONG)
        self.assertEqual(FINDINGS, said.returncode)
        self.assertRegex(json.loads(said.stdout)["time"], r"^20\d\d-\d\d-\d\dT[\d:.]+Z$")
        failing = json.loads(said.stdout)["failing"]
        self.assertEqual(["signal: expected STOP, was HOLD"], [each["what"] for each in failing])
        self.assertEqual(8_000_000_000, failing[0]["at_ns"])

    def test_a_file_that_cannot_be_read_ends_with_65_whatever_the_others_did(self):
        said = rehearse(RIGHT, self.broken, WRONG)
        self.assertEqual(BAD_INPUT, said.returncode)
        self.assertIn(f"{self.broken}:3:", said.stderr)
        self.assertIn("1 passed, 1 failed, 1 not to be read", said.stdout)
        self.assertEqual(BAD_INPUT, rehearse(self.broken).returncode)

    def test_a_job_is_checked_alike_with_and_without_its_rehearsals(self):
        bare = pathlib.Path(self.broken.parent, "job")
        shutil.copytree(EXAMPLE, bare, ignore=shutil.ignore_patterns("rehearsals"))
        said = [subprocess.run([STANDFAST, "check", job], capture_output=True, text=True) for job in (EXAMPLE, bare)]
        self.assertTrue(list((EXAMPLE / "rehearsals").glob("*.yaml")))
        self.assertEqual([0, 0], [each.returncode for each in said])
        self.assertEqual(said[0].stdout, said[1].stdout)

    def test_a_file_that_is_not_there_ends_with_66(self):
        said = rehearse(SCENARIOS / "no-such-file.yaml")
        self.assertEqual(NO_INPUT, said.returncode)
        self.assertIn("no such file", said.stderr)


if __name__ == "__main__":
    STANDFAST = sys.argv[1]
    unittest.main(argv=sys.argv[:1] + sys.argv[2:], verbosity=2)
