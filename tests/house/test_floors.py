"""Arrows between the rooms point down only, and each library of others stays behind its adapter."""
import fnmatch
import pathlib
import re
import subprocess
import unittest

import tree

# Which rooms a room may reach, itself always included. The first pattern that fits a file names its room.
VOCABULARY = [f"config/{name}.*" for name in (
    "ensure", "result", "units", "instant", "ids", "rig", "stages", "quantity_kinds", "poll_plan", "bound_value", "raw_value",
    "line_values", "depends", "date_text", "unit_text", "exact_math",
    "nearest_word")]  # The core is handed what was loaded; it never loads.
ROOMS = [
    ("config", ["config/*"]),
    ("drivers", ["drivers/*"]),
    ("core", ["daemon/core/*"]),
    ("record", ["daemon/record/*"]),
    ("panel", ["daemon/panel/*"]),
    ("service", ["daemon/*"]),
    ("rig", ["tools/rig/*"]),
    ("tools", ["tools/*"]),
    ("tests", ["tests/*"]),
]
MAY_REACH = {
    "config": [],
    "drivers": ["config/*"],
    "core": [*VOCABULARY, "drivers/scan.hpp", "drivers/output_report.hpp"],
    "record": ["config/*", "drivers/scan.hpp", "drivers/output_report.hpp", "daemon/core/*"],
    "panel": ["config/*", "drivers/*", "daemon/core/*", "daemon/record/*"],
    "service": ["config/*", "drivers/*", "daemon/*"],
    "rig": ["config/*", "drivers/*"],
    "tools": ["config/*", "drivers/*", "daemon/*", "tools/*"],
    "tests": ["*"],
}
MAY_NOT_REACH = {
    "rig": ["config/prediction.*"],  # The simulated rig must not agree with us because it is us.
}

# Headers of others: where they may be reached from. Tests may use what they like.
OUTSIDE = {
    "yaml-cpp/": ["config/yaml_reader.cpp"],
    "modbus/": ["drivers/modbus_*.cpp", "tools/rig/modbus_*.cpp", "tools/bench/modbus_*.cpp"],
    "boost/asio/": ["drivers/serial_line_port.cpp", "drivers/asio_sources.cpp", "daemon/service/*.cpp"],
    "sqlite3.h": ["daemon/record/*.cpp"],
    "spdlog/": ["daemon/service/*.cpp", "daemon/main.cpp"],
    "CLI/": ["daemon/main.cpp", "tools/*.cpp"],
    "sodium": ["daemon/record/*.cpp", "daemon/service/*.cpp", "tools/*.cpp"],
    "openssl/": ["config/sha256.cpp", "daemon/record/*.cpp", "daemon/service/*.cpp", "tools/*.cpp"],
    "systemd/": ["daemon/service/*.cpp", "daemon/main.cpp"],
    "catch2/": [],
    "rapidcheck": [],
}
# These cost minutes and gigabytes to compile: never in more than four files of ours.
HEAVY = re.compile(r"/boost/(asio|beast)/")
HEAVY_MOST = 4

# No decision may depend on these; what the linker sees is checked by test_core_symbols.
NOT_IN_CORE = {"chrono", "ctime", "time.h", "thread", "mutex", "shared_mutex", "condition_variable", "future", "atomic",
               "stop_token", "fstream", "iostream", "ostream", "istream", "sstream", "iomanip", "cstdio", "filesystem",
               "locale", "clocale", "random", "unordered_map", "unordered_set", "regex", "csignal", "unistd.h"}


def room_of(name):
    return next(room for room, patterns in ROOMS if any(fnmatch.fnmatch(name, pattern) for pattern in patterns))


def fits(name, patterns):
    return any(fnmatch.fnmatch(name, pattern) for pattern in patterns)


def may_reach(name, other):
    room = room_of(name)
    if fits(other, MAY_NOT_REACH.get(room, [])):
        return False
    return room_of(other) == room or fits(other, MAY_REACH[room])


def dependency_lists():
    """What the compiler says each object file was made of: {source: [path, ...]}, paths in the tree taken from the root."""
    listing = subprocess.run(["ninja", "-C", tree.BUILD, "-t", "deps"], capture_output=True, text=True, check=True).stdout
    lists = {}
    for block in listing.split("\n\n"):
        lines = block.strip().splitlines()
        if len(lines) < 2 or "#deps" not in lines[0]:
            continue
        paths = [pathlib.Path(line.strip()) for line in lines[1:]]
        paths = [path if path.is_absolute() else (tree.BUILD / path).resolve() for path in paths]
        names = [str(path.relative_to(tree.ROOT)) if path.is_relative_to(tree.ROOT) else str(path) for path in paths]
        if not names[0].startswith("/") and (tree.ROOT / names[0]).exists() and not names[0].startswith("build/"):
            lists[names[0]] = names[1:]
    return lists


class Floors(unittest.TestCase):
    def assertNothing(self, complaints):
        self.assertEqual([], sorted(complaints), "\n" + "\n".join(sorted(complaints)))

    def test_the_page_for_contributors_has_a_row_for_every_room(self):
        rooms = {"/".join(name.split("/")[:2 if name.startswith("daemon/") else 1]) + "/"
                 for name in tree.files() if name.endswith((".cpp", ".hpp", ".service")) and name != "daemon/main.cpp"}
        rows = re.findall(r"^\| `([a-z/]+/)` \|", tree.text("DEVELOPERS.md"), re.MULTILINE)
        self.assertEqual(sorted(rooms), sorted(rows))

    def test_no_file_includes_one_of_a_higher_floor(self):
        self.assertNothing(
            f"{name} includes {other}"
            for name in tree.cpp_files() for other in tree.includes(name) if not may_reach(name, other))

    def test_no_file_was_compiled_with_one_of_a_higher_floor(self):
        lists = dependency_lists()
        for room in ("config", "drivers", "core"):
            self.assertTrue(any(room_of(name) == room for name in lists), f"nothing of {room} has been compiled in {tree.BUILD}")
        ours = set(tree.files())
        self.assertNothing(
            f"{name} was compiled with {other}"
            for name, others in lists.items() for other in others if other in ours and not may_reach(name, other))

    def test_every_include_names_a_file_from_the_root(self):
        ours = set(tree.files())
        self.assertNothing(
            f"{name} includes {other}, which is not a path from the root"
            for name in tree.cpp_files() for other in tree.includes(name) if other not in ours)

    def test_no_headers_include_each_other_in_a_circle(self):
        ours, done, complaints = set(tree.cpp_files()), set(), []

        def visit(name, path):
            if name in path:
                complaints.append(" -> ".join(path[path.index(name):] + [name]))
            elif name not in done:
                for other in ours.intersection(tree.includes(name)):
                    visit(other, path + [name])
                done.add(name)

        for name in sorted(ours):
            if name not in done:
                visit(name, [])
        self.assertNothing(complaints)

    def test_each_library_of_others_stays_behind_its_adapter(self):
        complaints = []
        for name, others in dependency_lists().items():
            if room_of(name) == "tests":
                continue
            for header, places in OUTSIDE.items():
                if any(f"/{header}" in other for other in others if other.startswith("/")) and not fits(name, places):
                    complaints.append(f"{name} reaches {header}")
        self.assertNothing(complaints)

    def test_no_more_than_four_files_reach_asio_or_beast(self):
        heavy = [name for name, others in dependency_lists().items()
                 if room_of(name) != "tests" and any(HEAVY.search(other) for other in others)]
        self.assertLessEqual(len(heavy), HEAVY_MOST, heavy)

    def test_the_core_includes_no_clock_thread_file_or_unordered_container(self):
        self.assertNothing(
            f"{name} includes <{header}>"
            for name in tree.cpp_files() if room_of(name) == "core"
            for header in re.findall(r"^#include <([^>]+)>", tree.text(name), re.MULTILINE) if header in NOT_IN_CORE)

    def test_nothing_includes_a_test(self):
        self.assertNothing(
            f"{name} includes {other}"
            for name in tree.cpp_files() if room_of(name) != "tests"
            for other in tree.includes(name) if room_of(other) == "tests")


if __name__ == "__main__":
    tree.main()
