"""Every finding's code that any source file writes stands in the one table, config/finding_codes.cpp, and each of the table is written."""
import re
import unittest

import tree

TABLE = "config/finding_codes.cpp"
ROOMS = ("config/", "drivers/", "daemon/", "tools/")


def codes_in(name):
    return {match[1] for _, literal in tree.string_literals(name) if (match := re.fullmatch(r'"([EW]-[a-z0-9-]+)"', literal))}


class Codes(unittest.TestCase):
    def test_the_table_and_the_sources_name_the_same_codes(self):
        table, written = codes_in(TABLE), {}
        for name in tree.cpp_files():
            if name.startswith(ROOMS) and name != TABLE:
                for code in codes_in(name):
                    written.setdefault(code, name)
        self.assertGreater(len(table), 50)
        self.assertEqual({}, {code: name for code, name in written.items() if code not in table}, f"not in {TABLE}")
        self.assertEqual(set(), table - set(written), f"in {TABLE} and produced by no source file")


if __name__ == "__main__":
    tree.main()
