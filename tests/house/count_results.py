"""Prints `PASSED FAILED` for one run of ctest: test cases where a program says how many it ran, otherwise the program itself."""
import re
import sys
import xml.etree.ElementTree as tree

CATCH_ALL_PASSED = re.compile(r"All tests passed \(\d+ assertions? in (\d+) test cases?\)")
CATCH_SOME_FAILED = re.compile(r"^test cases: +(\d+) \|(?: +(\d+) passed)?", re.MULTILINE)
UNITTEST_RAN = re.compile(r"^Ran (\d+) tests? in ", re.MULTILINE)
UNITTEST_FAILED = re.compile(r"^FAILED \((.*)\)$", re.MULTILINE)


def counts_of(output, program_passed):
    """A program that ended badly counts as at least one failure, whatever it printed."""
    passed, failed = (1, 0) if program_passed else (0, 1)
    if match := CATCH_ALL_PASSED.search(output):
        passed, failed = int(match[1]), 0
    elif match := CATCH_SOME_FAILED.search(output):
        passed = int(match[2] or 0)
        failed = int(match[1]) - passed
    elif match := UNITTEST_RAN.search(output):
        said = UNITTEST_FAILED.search(output)
        failed = sum(int(n) for n in re.findall(r"(?:failures|errors)=(\d+)", said[1])) if said else 0
        passed = int(match[1]) - failed
    return passed, max(failed, 0 if program_passed else 1)


def main(path):
    passed = failed = 0
    for case in tree.parse(path).getroot().iter("testcase"):
        p, f = counts_of(case.findtext("system-out") or "", case.get("status") == "run")
        passed, failed = passed + p, failed + f
    print(passed, failed)


if __name__ == "__main__":
    main(sys.argv[1])
