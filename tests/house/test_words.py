"""The tree carries nothing unfinished, nothing of one machine, and no word on a screen that promises too much."""
import re
import unittest

import tree

TOP_LEVEL = {"CMakeLists.txt", "CMakePresets.json", "README.md", "DEVELOPERS.md", "daemon", "drivers", "config", "tests", "tools", "systemd"}
WIDEST = 140
BAD_ON_PURPOSE = "tests/config/corpus/E-"

UNFINISHED = re.compile(r"\b(T[O]DO|F[I]XME|X[X]X|H[A]CK|W[I]P)\b|\bnot implemented\b|\bplaceholder\b", re.IGNORECASE)
OF_ONE_MACHINE = re.compile(r"(?<![\w.:/\-])/(home|root|work|Users|mnt|media|tmp/b)/|\.\./shared|\b[\w.+-]+@[\w-]+\.(com|org|net|io)\b")
A_DOCUMENT = re.compile(r"(?<![\w*])([\w-]+\.md)\b")
A_CHAPTER_ELSEWHERE = re.compile(r"\bdesign,? (section )?\d|\(design:|\bissue \d", re.IGNORECASE)

# Hosts that may be named: published sources, schema dialects and the reserved names of examples.
HOSTS = {"json-schema.org", "www.sqlite.org", "sqlite.org", "www.itl.nist.gov", "www.rfc-editor.org", "csrc.nist.gov", "modbus.org",
         "www.modbus.org", "localhost", "127.0.0.1", "example.org", "www.w3.org", "physics.nist.gov"}
A_HOST = re.compile(r"https?://([\w.-]+)")

# What no text for a person says: the daemon is an aid, not a safety-rated device, and does not know that all is well. Pressure
# is never "released" by it, and a state of the structure is "within limits".
PROMISES = re.compile(r"\b(OK|[Ss]afe|[Ss]afely|[Rr]eleased?|[Ee]mergency stop|[Aa]uto|[Ll]ive load|[Aa]ll clear(?! of the load))\b")
# (file, word): why it may stand there.
PROMISES_ALLOWED = {
    ("config/load_limits.cpp", "safe"): "the list of words that a plan's own lines may not hold",
    ("config/load_limits.cpp", "release"): "the same",
    ("config/load_limits.cpp", "live load"): "the same",
    ("config/load_limits.cpp", "auto"): "the same",
    ("config/finding_codes.cpp", "Release"): "the example of such a line",
}


def lines_of(name):
    return enumerate(tree.text(name).split("\n"), 1)


def is_text(name):
    return not name.endswith((".db", ".png", ".ico", ".bin")) and ".seeds/" not in name


class Words(unittest.TestCase):
    def assertNothing(self, complaints):
        complaints = sorted(complaints)
        self.assertEqual([], complaints, "\n" + "\n".join(complaints))

    def matches(self, pattern, names):
        return [f"{name}:{number}: {match[0]}" for name in names for number, line in lines_of(name) for match in pattern.finditer(line)]

    def setUp(self):
        self.texts = [name for name in tree.files() if is_text(name) and name != "tests/house/test_words.py"]

    def test_nothing_is_left_for_later(self):
        self.assertNothing(self.matches(UNFINISHED, self.texts))

    def test_nothing_names_a_place_of_one_machine_or_a_mailbox(self):
        self.assertNothing(self.matches(OF_ONE_MACHINE, self.texts))

    def test_every_document_that_is_cited_is_in_the_tree(self):
        here = {name.split("/")[-1] for name in tree.files()}
        self.assertNothing(complaint for complaint in self.matches(A_DOCUMENT, self.texts) if complaint.split(": ")[-1] not in here)

    def test_no_chapter_of_a_document_elsewhere_is_cited(self):
        self.assertNothing(self.matches(A_CHAPTER_ELSEWHERE, self.texts))

    def test_only_known_hosts_are_named(self):
        self.assertNothing(
            f"{name}:{number}: {host}" for name in self.texts for number, line in lines_of(name)
            for host in A_HOST.findall(line) if host not in HOSTS)

    def test_the_top_level_holds_only_what_belongs_there(self):
        self.assertNothing({name.split("/")[0] for name in tree.files() if not name.startswith(".")} - TOP_LEVEL)

    def test_no_text_for_a_person_promises_too_much(self):
        self.assertNothing(
            f"{name}:{number}: {match[0]} in {literal[:100]}"
            for name in tree.cpp_files() if not name.startswith("tests/")
            for number, literal in tree.string_literals(name) for match in PROMISES.finditer(literal)
            if (name, match[0]) not in PROMISES_ALLOWED)

    def test_lines_are_of_bounded_width_and_end_clean(self):
        kinds = (".cpp", ".hpp", ".py", ".cmake", ".txt", ".yaml")
        self.assertNothing(
            f"{name}:{number}: {what}" for name in self.texts if name.endswith(kinds) or "." not in name.split("/")[-1]
            if not name.startswith(BAD_ON_PURPOSE) for number, line in lines_of(name)
            for what, wrong in (("tab", "\t" in line), ("blank at the end", line != line.rstrip()),
                                (f"{len(line)} columns", len(line) > WIDEST and "://" not in line)) if wrong)
        self.assertNothing(f"{name}: last line is not ended" for name in self.texts
                           if tree.text(name) and not tree.text(name).endswith("\n")
                           and not name.startswith(BAD_ON_PURPOSE))


if __name__ == "__main__":
    tree.main()
