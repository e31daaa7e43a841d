"""Records made by the program under test, for the tests in Python: the first argument is that program."""
import os
import pathlib
import subprocess
import sys
import tempfile
import unittest

PROGRAM = sys.argv.pop(1) if len(sys.argv) > 1 else ""


class WithRecord(unittest.TestCase):
    """`what` names the record: see make_records.cpp."""

    what = "sample"

    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.record = pathlib.Path(self.folder.name) / "record.db"
        self.make(self.what)

    def make(self, what):
        env = {**os.environ, "RECORD": str(self.record)}
        subprocess.run([PROGRAM, f"[{what}]"], check=True, stdout=subprocess.DEVNULL, env=env)
