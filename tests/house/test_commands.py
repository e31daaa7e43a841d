"""What the help of a command names is there: commands, and in the examples the files, stages and names of the example job."""
import re
import shlex
import unittest

import tree

TABLE = "tools/standfast/commands.cpp"
EXAMPLES = tree.ROOT / "config/examples"
JOB = EXAMPLES / "grain-store"
NO_COMMAND = {"checkpoint"}  # Of `standfast checkpoint`, the text that is signed with a head.
VALUE_OF = {"--as", "--second", "--reason", "--since", "--csv", "--role", "--certificate", "--due"}


def commands():
    return set(re.findall(r'^    \{"([a-z]+)",', tree.text(TABLE), re.MULTILINE))


def examples():
    """The words of each example behind `standfast`; a literal may be continued on the next line."""
    text = re.sub(r'"\s*\n\s*"', "", tree.text(TABLE))
    lines = [line for literal in re.findall(r'"(standfast [^\n]*?)"', text) for line in literal.split("\\n")]
    return [shlex.split(line)[1:] for line in lines]


def operands(words):
    found = []
    for place, word in enumerate(words):
        if not word.startswith("--") and (place == 0 or words[place - 1] not in VALUE_OF):
            found.append(word)
    return found


class Commands(unittest.TestCase):
    def test_every_command_that_a_text_names_exists(self):
        known = commands() | NO_COMMAND
        self.assertGreater(len(known), 20)
        for name in tree.files():
            if name.startswith(("config/", "daemon/", "drivers/", "tools/", "systemd/")) or name.endswith(".md"):
                for word in re.findall(r"`standfast ([a-z]+)", tree.text(name)):
                    self.assertIn(word, known, name)

    def test_each_example_begins_with_a_command_and_names_files_of_the_example_job(self):
        lines = examples()
        self.assertGreater(len(lines), 20)
        for words in lines:
            self.assertIn(words[0], commands(), words)
            for word in words[1:]:
                if word.startswith(JOB.name):
                    self.assertTrue(list(EXAMPLES.glob(word)), f"{words}: no {word} in config/examples")

    def test_the_stages_instruments_and_persons_of_the_examples_are_those_of_the_example_job_and_the_tours(self):
        stages, rig = (JOB / "stages.yaml").read_text(), (JOB / "rig.yaml").read_text()
        people = set(re.findall(r"s people add '([^']+)'", tree.text("README.md")))
        for words in examples():
            given = operands(words)
            if given[:2] == ["stage", "enter"]:
                self.assertIn(f"- stage: {given[2]}\n", stages)
            instruments = {"readings": given[1:], "accept": given[1:], "zero": given[2:], "swap": given[1:2]}.get(given[0], [])
            if given[0] == "permit":
                instruments = [word for word in given[2:] if re.fullmatch(r"[A-Z]\d?", word)]
            for name in instruments:
                self.assertRegex(rig, rf"(?m)^  {name}: ", words)
            for option in ("--as", "--second"):
                if option in words:
                    self.assertIn(words[words.index(option) + 1], people, words)


if __name__ == "__main__":
    tree.main()
