"""Somebody with only sqlite3 and hashlib finds what was done to a record, and the first bad batch."""
import hashlib
import pathlib
import sqlite3
import subprocess
import sys
import unittest

import made
import verify_seals

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

    def assertProved(self, *noted):
        code, text = self.verify(*noted)
        self.assertEqual((0, "proved"), (code, text[:6]), text)
        return text

    def seal_again(self):
        """Somebody who has everything but the key computes every seal again."""
        db = sqlite3.connect(self.record)
        rows, head, sql = verify_seals.rows_by_seq(db), bytes(32), ""
        for batch, first, last in db.execute("SELECT batch, first_seq, last_seq FROM seal ORDER BY batch").fetchall():
            digest = hashlib.sha256(head + b"".join(map(verify_seals.canonical, (batch, first, last))))
            for _ in range(first, last + 1):
                name, row = next(rows)
                digest.update(verify_seals.canonical(name) + b"".join(map(verify_seals.canonical, row)))
            head = digest.digest()
            sql += f"UPDATE seal SET head = x'{head.hex()}' WHERE batch = {batch};"
        db.close()
        self.tamper(sql)

    def test_an_untouched_record_is_proved(self):
        self.assertProved()

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
        self.tamper("DELETE FROM checkpoint WHERE seq = (SELECT max(last_seq) FROM seal); "
                    "DELETE FROM seal WHERE batch = (SELECT max(batch) FROM seal)")
        self.assertProved()
        self.assertFound(last, last, head)

    def test_a_record_written_anew_against_a_noted_head(self):
        self.assertFound(3, 3, "0123456789abcdef")

    def test_a_view_a_trigger_or_a_table_that_is_not_the_one_it_was_made_with(self):
        bent = self.ask("SELECT sql FROM sqlite_schema WHERE name = 'alarm_log'") + " WHERE level <> 'stop'"
        for name, sql in (("view alarm_log", f"DROP VIEW alarm_log; {bent}"), ("view gap_log", "DROP VIEW gap_log"),
                          ("trigger alarm_kept", "DROP TRIGGER alarm_kept"), ("table alarms", "CREATE TABLE alarms (seq)"),
                          ("view description", "DROP VIEW description; CREATE VIEW description AS SELECT '' AS words")):
            with self.subTest(name):
                self.record = pathlib.Path(self.folder.name) / f"{name}.db"
                self.make(self.what)
                self.assertProved()
                db = sqlite3.connect(self.record)
                db.executescript(sql)
                db.close()
                self.assertEqual((1, "a table, view or trigger is not the one that the record was made with: " + name), self.verify())

    def test_a_stated_schema_that_was_changed_with_the_view(self):
        self.tamper("DROP VIEW gap_log")
        db = sqlite3.connect(self.record)
        schema = verify_seals.schema_sha256(verify_seals.objects_in(db))
        db.close()
        self.tamper(f"UPDATE about SET schema_sha256 = '{schema}'")
        self.assertFound(1)

    def test_what_is_mistyped_is_not_taken_for_a_proof(self):
        key, head = self.ask("SELECT public_key FROM checkpoint"), self.ask("SELECT lower(hex(head)) FROM seal WHERE batch = 1")
        for noted in ((key,), ("0" * 64,), ("key",), ("1", head, key), ("key", "not hex"), ("Key", key), ("1", head, "--help-me")):
            done = subprocess.run([sys.executable, SCRIPT, self.record, *noted], capture_output=True, text=True)
            self.assertEqual((2, ""), (done.returncode, done.stdout), noted)
            self.assertTrue(done.stderr.startswith("usage: "), done.stderr)
        self.assertEqual((1, "a noted head of fewer than 8 letters proves nothing"), self.verify(1, head[:7]))
        self.assertProved(1, head, "key", key)

    def test_without_a_record_it_says_how_it_goes(self):
        for arguments, code, said in (([], 2, "usage: "), (["--help"], 0, "usage: "), ([self.folder.name], 2, "usage: "),
                                      ([self.folder.name + "/none.db"], 2, "usage: "), ([SCRIPT], 1, "it cannot be read: ")):
            done = subprocess.run([sys.executable, SCRIPT, *arguments], capture_output=True, text=True)
            self.assertEqual(code, done.returncode, arguments)
            self.assertIn(said, done.stdout + done.stderr)
            self.assertNotIn("Traceback", done.stderr)

    def test_the_key_and_how_far_it_signed_are_told(self):
        key, last = self.ask("SELECT public_key FROM checkpoint"), self.ask("SELECT max(batch) FROM seal")
        self.assertEqual(f"proved; signed up to batch {last - 1} of {last} by key {key}", self.assertProved("key", key[:32]))
        self.assertEqual(1, self.verify("key", "0" * 32)[0])
        self.assertEqual(1, self.verify("key", key[:31])[0])

    def test_a_change_with_every_seal_computed_again(self):
        batch = self.ask("SELECT max(batch) FROM seal")
        self.tamper("UPDATE alarm SET value = value + 1e-9")
        self.seal_again()
        self.assertFound(batch)
        self.tamper("UPDATE checkpoint SET head = (SELECT lower(hex(head)) FROM seal WHERE seal.batch = checkpoint.batch)")
        self.seal_again()
        self.assertEqual((1, f"batch {batch}: a checkpoint in it: its signature is not genuine"), self.verify())


if __name__ == "__main__":
    unittest.main()
