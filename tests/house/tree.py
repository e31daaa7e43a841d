"""The source tree as the house tests see it, and how they are started: python3 test_X.py BUILD_FOLDER."""
import functools
import pathlib
import re
import subprocess
import sys
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[2]
BUILD = pathlib.Path()


def main():
    global BUILD
    BUILD = pathlib.Path(sys.argv.pop(1)).resolve()
    sys.modules["tree"] = sys.modules[__name__]
    unittest.main(module="__main__")


@functools.cache
def files():
    """Every file of the project as a path from the root: tracked, or new and not ignored."""
    listed = subprocess.run(["git", "-C", ROOT, "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
                            capture_output=True, text=True)
    if listed.returncode == 0:
        names = [name for name in listed.stdout.split("\0") if name]
    else:  # An unpacked archive, or a clone that belongs to somebody else.
        names = [str(path.relative_to(ROOT)) for path in ROOT.rglob("*") if path.is_file()]
        names = [name for name in names if not re.match(r"build/|\.git/", name) and "__pycache__" not in name]
    return sorted(name for name in set(names) if (ROOT / name).is_file())


def cpp_files():
    return [name for name in files() if name.endswith((".cpp", ".hpp"))]


@functools.cache
def text(name):
    return (ROOT / name).read_text(encoding="utf-8", errors="replace")


_COMMENT_OR_STRING = re.compile(
    r'//[^\n]*|/\*.*?\*/|R"(?P<mark>[^\s()\\]{0,16})\(.*?\)(?P=mark)"|"(?:\\.|[^"\\\n])*"|(?<![0-9a-fA-F])\'(?:\\.|[^\'\\\n])+\'',
    re.DOTALL)


def _blank(piece):
    return re.sub(r"[^\n]", " ", piece)


@functools.cache
def code(name):
    """C++ without comments and with the inside of its string literals blank; every character stays in its place."""
    def replacement(match):
        piece = match[0]
        if piece.startswith("/"):
            return _blank(piece)
        return piece[0] + _blank(piece[1:-1]) + piece[-1] if not piece.startswith("R") else _blank(piece)
    return _COMMENT_OR_STRING.sub(replacement, text(name))


def string_literals(name):
    """(line, text) of each string literal of a C++ file, include lines left out."""
    source = text(name)
    for match in _COMMENT_OR_STRING.finditer(source):
        begin_of_line = source.rfind("\n", 0, match.start()) + 1
        if match[0][0] in 'R"' and not source.startswith("#include", begin_of_line):
            yield source.count("\n", 0, match.start()) + 1, match[0]


def includes(name):
    """Files of the project that a C++ file names in its include lines."""
    return re.findall(r'^#include "([^"]+)"', text(name), re.MULTILINE)
