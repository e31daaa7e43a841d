"""Each fault of tests/mutants/ still fits the code: its line is there exactly once. Whether it is noticed, tools/run-mutants says."""
import importlib.machinery
import importlib.util
import unittest

import tree


def run_mutants():
    loader = importlib.machinery.SourceFileLoader("run_mutants", str(tree.ROOT / "tools" / "run-mutants"))
    module = importlib.util.module_from_spec(importlib.util.spec_from_loader(loader.name, loader))
    loader.exec_module(module)
    return module


class Mutants(unittest.TestCase):
    def test_every_fault_fits_exactly_one_line(self):
        mutants = [run_mutants().Mutant(tree.ROOT / name) for name in tree.files() if name.endswith(".mutant")]
        self.assertGreaterEqual(len(mutants), 15)
        self.assertEqual([], [mutant.name for mutant in mutants if mutant.faulty(tree.text(mutant.file)) is None])


if __name__ == "__main__":
    import sys
    sys.dont_write_bytecode = True
    tree.main()
