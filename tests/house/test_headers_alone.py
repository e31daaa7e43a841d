"""Every header can be included first."""
import concurrent.futures
import json
import os
import re
import shlex
import subprocess
import unittest

import tree


def is_proven_by_the_build(header, compiled):
    """A source of the same name whose first include is the header has been compiled: nothing stood before it."""
    source = header.removesuffix(".hpp") + ".cpp"
    return source in compiled and re.search(r'^#include ["<]([^">]+)[">]', tree.text(source), re.MULTILINE)[1] == header


def command_for(header, commands):
    """The compiler call of a file near the header, turned into one that only checks the header."""
    room = os.path.dirname(header)
    near = max(commands, key=lambda source: len(os.path.commonprefix([room + "/", source])))
    words = shlex.split(commands[near])
    words = words[next(i for i, word in enumerate(words) if not word.endswith("ccache")):]
    kept = [word for word in words if word.startswith(("-I", "-D", "-std", "-W", "-f")) and not word.startswith("-fuse")]
    for i, word in enumerate(words):
        if word == "-isystem":
            kept += [word, words[i + 1]]
    return [words[0], *kept, "-fsyntax-only", "-x", "c++", "-"]


class HeadersAlone(unittest.TestCase):
    def test_every_header_compiles_alone(self):
        database = json.loads((tree.BUILD / "compile_commands.json").read_text())
        commands = {os.path.relpath(entry["file"], tree.ROOT): entry["command"] for entry in database
                    if f"-I{tree.ROOT} " in entry["command"]}
        headers = [name for name in tree.cpp_files() if name.endswith(".hpp") and not is_proven_by_the_build(name, commands)]

        def check(header):
            # The second time proves its include guard.
            source = f'#include "{header}"\n#include "{header}"\n'
            run = subprocess.run(command_for(header, commands), input=source, capture_output=True, text=True, cwd=tree.BUILD)
            return None if run.returncode == 0 else f"{header}: {run.stderr[:600]}"

        with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
            wrong = [complaint for complaint in pool.map(check, headers) if complaint]
        self.assertEqual([], wrong, "\n" + "\n".join(wrong))

    def test_every_header_has_its_guard_and_says_what_it_is_for(self):
        wrong = [name for name in tree.cpp_files() if name.endswith(".hpp")
                 and not (tree.text(name).startswith("//") and "\n#pragma once\n" in tree.text(name))]
        self.assertEqual([], wrong)


if __name__ == "__main__":
    tree.main()
