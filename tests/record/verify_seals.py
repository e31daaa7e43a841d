"""usage: python3 verify_seals.py RECORD [BATCH LETTERS ...] [key LETTERS ...]

Recomputes the seals of a record, and the SHA-256 of its tables, views and triggers, from nothing but the half page on seals in
DEVELOPERS.md; each BATCH with the letters of its head, each key as somebody noted them. Exit 0: proved, 1: not, 2: mistyped, or
there is no such file. Python has no Ed25519 of its own: the signatures of the checkpoints are judged by the program openssl, and
where there is none it is said that they were not."""
import hashlib
import pathlib
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile


def canonical(value):
    if value is None:
        return b"n"
    if isinstance(value, int):
        return b"i%d;" % value
    if isinstance(value, float):
        return b"r%.17g;" % value
    bytes_of = value.encode("utf-8", "surrogateescape")
    return b"t%d:" % len(bytes_of) + bytes_of


def objects_in(db):
    return db.execute("SELECT type, name, sql FROM sqlite_schema WHERE sql IS NOT NULL AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\' "
                      "ORDER BY type, name").fetchall()


def schema_sha256(objects):
    return hashlib.sha256("".join(f"{text}\n" for each in objects for text in each).encode("utf-8", "surrogateescape")).hexdigest()


SOURCES = pathlib.Path(__file__).parents[2] / "daemon" / "record"  # Of the program; only to name what differs.


def names_that_differ(found, stated):
    """Where the sources beside this script are those that the record was made with."""
    made = sqlite3.connect(":memory:")
    for name in ("schema.sql", "schema_views.sql", "schema_words.sql"):
        if (SOURCES / name).exists():
            made.executescript((SOURCES / name).read_text())
    wanted = objects_in(made)
    if schema_sha256(wanted) != stated:
        return ""
    return ": " + ", ".join(sorted({f"{kind} {name}" for kind, name, _ in set(found) ^ set(wanted)}))


def schema_fault(db):
    found, (stated,) = objects_in(db), db.execute("SELECT schema_sha256 FROM about ORDER BY seq DESC LIMIT 1").fetchone()
    if schema_sha256(found) == stated:
        return None
    return "a table, view or trigger is not the one that the record was made with" + names_that_differ(found, stated)


def rows_by_seq(db):
    tables = [name for (name,) in db.execute("SELECT name FROM sqlite_schema WHERE type = 'table' AND name <> 'seal'")]
    cursors = {name: db.execute(f"SELECT * FROM {name} ORDER BY seq") for name in tables}
    waiting = {name: row for name, cursor in cursors.items() if (row := cursor.fetchone())}
    while waiting:
        name = min(waiting, key=lambda table: waiting[table][0])
        row = waiting.pop(name)
        if following := cursors[name].fetchone():
            waiting[name] = following
        yield name, row


OPENSSL = shutil.which("openssl")
DER_OF_ED25519 = bytes.fromhex("302a300506032b6570032100")  # RFC 8410, 4: what stands before the 32 bytes of a public key.


def is_genuine(public_key, message, signature):
    with tempfile.TemporaryDirectory() as folder:
        key, text, sig = (pathlib.Path(folder) / name for name in ("key", "text", "sig"))
        key.write_bytes(DER_OF_ED25519 + public_key)
        text.write_bytes(message)
        sig.write_bytes(signature)
        return subprocess.run([OPENSSL, "pkeyutl", "-verify", "-pubin", "-keyform", "DER", "-inkey", key, "-rawin", "-in", text,
                               "-sigfile", sig], capture_output=True).returncode == 0


def checkpoint_fault(row, before, head, keys):
    batch, signed, public_key, signature = row[4:]
    if batch != before or signed != head.hex():
        return "it signs another head than the one before it"
    if keys and not any(public_key.startswith(key) for key in keys):
        return f"it is by another key: {public_key}"
    message = canonical("standfast checkpoint") + canonical(batch) + head
    if OPENSSL and not is_genuine(bytes.fromhex(public_key), message, bytes.fromhex(signature)):
        return "its signature is not genuine"
    return None


def first_fault(db, noted, keys):
    """None where all is right, otherwise what is wrong with the first bad batch."""
    if any(len(key) < 32 for key in keys):
        return "a noted key of fewer than 32 letters proves nothing"
    if any(len(letters) < 8 for _, letters in noted):
        return "a noted head of fewer than 8 letters proves nothing"
    if fault := schema_fault(db):  # The rows are read by these tables.
        return fault
    head, rows, seq, heads = bytes(32), rows_by_seq(db), 1, {}
    for expected, (batch, first, last, sealed) in enumerate(db.execute("SELECT * FROM seal ORDER BY batch"), 1):
        if batch != expected or first != seq:
            return f"batch {expected}: it is missing, or does not begin at seq {seq}"
        checkpoints = []
        digest = hashlib.sha256(head + canonical(batch) + canonical(first) + canonical(last))
        for seq in range(first, last + 1):
            name, row = next(rows, ("", (None,)))
            if row[0] != seq:
                return f"batch {batch}: seq {seq} is missing, or {row[0]} stands twice"
            digest.update(canonical(name) + b"".join(map(canonical, row)))
            if name == "checkpoint":
                checkpoints.append(row)
        if digest.digest() != sealed:
            return f"batch {batch}: its rows or the head before it have been changed"
        for row in checkpoints:
            if fault := checkpoint_fault(row, batch - 1, head, keys):
                return f"batch {batch}: a checkpoint in it: {fault}"
        head, heads[batch], seq = sealed, sealed.hex(), last + 1
    if next(rows, None):
        return f"batch {len(heads) + 1}: rows stand behind the last seal"
    for batch, letters in noted:
        if not heads.get(batch, "").startswith(letters):
            return f"batch {min(batch, len(heads) + 1)}: not the noted head: cut off, set back or written anew"
    if keys and not db.execute("SELECT count(*) FROM checkpoint").fetchone()[0]:
        return "no checkpoint by the noted key"
    return None


def signed_words(db):
    newest, last = db.execute("SELECT (SELECT max(batch) FROM checkpoint), max(batch) FROM seal").fetchone()
    if newest is None:
        return "sealed, not signed"
    keys = " and ".join(key for (key,) in db.execute("SELECT DISTINCT public_key FROM checkpoint"))
    judged = "" if OPENSSL else " (not judged: there is no openssl here)"
    return f"signed up to batch {newest} of {last} by key {keys}{judged}"


def pairs(arguments):
    """None where they are not pairs of a batch or the word `key` with letters."""
    noted = [(name, letters.replace(" ", "").lower()) for name, letters in zip(arguments[::2], arguments[1::2])]
    right = all((name == "key" or re.fullmatch("[0-9]+", name)) and re.fullmatch("[0-9a-f]+", letters) for name, letters in noted)
    return noted if right and len(arguments) % 2 == 0 else None


def judged(record, noted):
    database = sqlite3.connect(f"{record.resolve().as_uri()}?mode=ro", uri=True)
    database.text_factory = lambda text: text.decode("utf-8", "surrogateescape")
    try:
        fault = first_fault(database, [(int(batch), letters) for batch, letters in noted if batch != "key"],
                            [letters for name, letters in noted if name == "key"])
        return fault, fault or "proved; " + signed_words(database)
    except (sqlite3.Error, TypeError, ValueError) as trouble:
        return trouble, f"it cannot be read: {trouble}"


def main(arguments):
    usage = __doc__.splitlines()[0]
    if arguments in (["--help"], ["-h"]):
        print(__doc__)
        return 0
    noted = pairs(arguments[1:])
    if not arguments or noted is None:
        print(usage, file=sys.stderr)
        return 2
    record = pathlib.Path(arguments[0])
    if not record.is_file():
        print(f"{record}: there is no such file; {usage}", file=sys.stderr)
        return 2
    fault, text = judged(record, noted)
    print(text)
    return 1 if fault else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
