"""Somebody with only sqlite3 and hashlib finds what was done to a record, and the first bad batch."""
import pathlib
import sqlite3
import subprocess
import sys
import unittest

import made

SCRIPT = pathlib.Path(__file__).with_name("verify_seals.py")


class Seals(made.WithRecord):
    def verify(self, *noted):
        done = subprocess.run([sys.executable, SCRIPT, self.record, *map(str, noted)], capture_output=True, text=True)
        return done.returncode, done.stdout.strip()

    def tamper(self, sql):
        db = sqlite3.connect(self.record)
        triggers = db.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
        for name, _ in triggers:
            db.execute(f"DROP TRIGGER {name}")
        db.executescript(sql)
        for _, text in triggers:
            db.execute(text)
        db.commit()
        db.close()

    def ask(self, sql):
        db = sqlite3.connect(self.record)
        self.addCleanup(db.close)
        return db.execute(sql).fetchone()[0]

    def assertFound(self, batch, *noted):
        code, text = self.verify(*noted)
        self.assertEqual(1, code)
        self.assertTrue(text.startswith(f"batch {batch}:"), text)

    def test_an_untouched_record_is_proved(self):
        self.assertEqual((0, "proved"), self.verify())

    def test_an_edit(self):
        batch = self.ask("SELECT batch FROM seal, alarm WHERE alarm.seq BETWEEN first_seq AND last_seq")
        self.tamper("UPDATE alarm SET value = value + 1e-9")
        self.assertFound(batch)

    def test_an_edit_of_the_mark_simulated(self):
        self.tamper("UPDATE about SET simulated = 0")
        self.assertFound(1)

    def test_a_deletion(self):
        batch = self.ask("SELECT batch FROM seal, action WHERE action.seq BETWEEN first_seq AND last_seq")
        self.tamper("DELETE FROM action")
        self.assertFound(batch)

    def test_a_deletion_with_its_seal(self):
        batch = self.ask("SELECT batch FROM seal, action WHERE action.seq BETWEEN first_seq AND last_seq")
        self.tamper(f"DELETE FROM action; DELETE FROM seal WHERE batch = {batch}")
        self.assertFound(batch)

    def test_an_insertion_at_the_end(self):
        last = self.ask("SELECT max(batch) FROM seal")
        self.tamper("INSERT INTO notice SELECT (SELECT max(last_seq) + 1 FROM seal), span, at_ns, wall_ns, code, text "
                    "FROM notice")
        self.assertFound(last + 1)

    def test_an_insertion_under_a_seq_of_another_table(self):
        batch = self.ask("SELECT batch FROM seal, action WHERE action.seq + 1 BETWEEN first_seq AND last_seq")
        self.tamper("INSERT INTO notice SELECT (SELECT seq FROM action), span, at_ns, wall_ns, code, text FROM notice")
        self.assertFound(batch)

    def test_a_reorder(self):
        first, second = self.ask("SELECT min(seq) FROM value"), self.ask("SELECT max(seq) FROM value")
        batch = self.ask(f"SELECT batch FROM seal WHERE {first} BETWEEN first_seq AND last_seq")
        self.tamper(f"UPDATE value SET seq = -1 WHERE seq = {first}; UPDATE value SET seq = {first} WHERE seq = {second};"
                    f"UPDATE value SET seq = {second} WHERE seq = -1")
        self.assertFound(batch)

    def test_a_cut_off_end_against_a_noted_head(self):
        last, head = self.ask("SELECT max(batch) FROM seal"), self.ask("SELECT hex(head) FROM seal ORDER BY batch DESC LIMIT 1")
        self.assertEqual(0, self.verify(last, head[:4] + " " + head[4:32])[0])
        self.tamper("DELETE FROM gap; DELETE FROM seal WHERE batch = (SELECT max(batch) FROM seal)")
        self.assertEqual((0, "proved"), self.verify())
        self.assertFound(last, last, head)

    def test_a_record_written_anew_against_a_noted_head(self):
        self.assertFound(3, 3, "0123456789abcdef")


if __name__ == "__main__":
    unittest.main()
