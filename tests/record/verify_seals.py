"""Recomputes the seals of a record from nothing but the half page on seals in DEVELOPERS.md: python3 verify_seals.py
RECORD [BATCH LETTERS ...], each BATCH with the letters of its head as somebody noted them. Exit 0: proved, 1: not."""
import hashlib
import sqlite3
import sys


def canonical(value):
    if value is None:
        return b"n"
    if isinstance(value, int):
        return b"i%d;" % value
    if isinstance(value, float):
        return b"r%.17g;" % value
    bytes_of = value.encode("utf-8", "surrogateescape")
    return b"t%d:" % len(bytes_of) + bytes_of


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


def first_fault(db, noted):
    """None where all is right, otherwise what is wrong with the first bad batch."""
    head, rows, seq, heads = bytes(32), rows_by_seq(db), 1, {}
    for expected, (batch, first, last, sealed) in enumerate(db.execute("SELECT * FROM seal ORDER BY batch"), 1):
        if batch != expected or first != seq:
            return f"batch {expected}: it is missing, or does not begin at seq {seq}"
        digest = hashlib.sha256(head + canonical(batch) + canonical(first) + canonical(last))
        for seq in range(first, last + 1):
            name, row = next(rows, ("", (None,)))
            if row[0] != seq:
                return f"batch {batch}: seq {seq} is missing, or {row[0]} stands twice"
            digest.update(canonical(name) + b"".join(map(canonical, row)))
        if digest.digest() != sealed:
            return f"batch {batch}: its rows or the head before it have been changed"
        head, heads[batch], seq = sealed, sealed.hex(), last + 1
    if next(rows, None):
        return f"batch {len(heads) + 1}: rows stand behind the last seal"
    for batch, letters in noted:
        if not heads.get(batch, "").startswith(letters):
            return f"batch {min(batch, len(heads) + 1)}: not the noted head: cut off, set back or written anew"
    return None


if __name__ == "__main__":
    database = sqlite3.connect(f"file:{sys.argv[1]}?mode=ro", uri=True)
    database.text_factory = lambda text: text.decode("utf-8", "surrogateescape")
    fault = first_fault(database, [(int(b), h.replace(" ", "").lower()) for b, h in zip(sys.argv[2::2], sys.argv[3::2])])
    print(fault or "proved")
    sys.exit(1 if fault else 0)
