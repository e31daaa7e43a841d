"""DEVELOPERS.md lists every quantity, cause and finding as the code has them.

The section between its two marks is made by: python3 tests/house/test_dictionary.py BUILD_FOLDER --write
"""
import subprocess
import sys
import unittest

import tree

BEGIN, END = "<!-- dictionary: begin -->\n", "<!-- dictionary: end -->\n"
WHERE = "DEVELOPERS.md"


def printed():
    program = tree.BUILD / "tests" / "house" / "house_dictionary"
    return subprocess.run([program], capture_output=True, text=True, check=True).stdout


def parts():
    before, begin, rest = tree.text(WHERE).partition(BEGIN)
    inside, end, after = rest.partition(END)
    assert begin and end, f"{WHERE} has no section between {BEGIN.strip()} and {END.strip()}"
    return before, inside, after


class Dictionary(unittest.TestCase):
    maxDiff = None

    def test_every_name_is_listed_as_the_code_has_it(self):
        self.assertEqual(printed().splitlines(), parts()[1].strip().splitlines())

    def test_no_code_stands_twice_and_every_code_says_something(self):
        lines = [line for line in printed().splitlines() if line.startswith("| `")]
        rows = [[cell.strip() for cell in line.strip("|\n ").split(" | ")] for line in lines]
        self.assertGreater(len(rows), 100)
        codes = [row[0] for row in rows]
        self.assertEqual([], sorted({code for code in codes if codes.count(code) > 1}))
        self.assertEqual([], [row for row in rows if row[0] != "`none`" and not row[1]])


if __name__ == "__main__":
    if sys.argv[2:] == ["--write"]:
        import pathlib
        tree.BUILD = pathlib.Path(sys.argv[1]).resolve()
        before, _, after = parts()
        (tree.ROOT / WHERE).write_text(before + BEGIN + printed() + END + after)
    else:
        tree.main()
