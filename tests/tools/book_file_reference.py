"""Reads a book by docs/formats/book-file.md alone: every checksum, every blob's digest, the totals and the replay of the log.

Usage: book_file_reference.py BOOK...   (exit 1 and a line for each thing that does not hold)
"""
import hashlib
import json
import shutil
import sqlite3
import struct
import sys
import tempfile

MASK = (1 << 64) - 1


def siphash24(key, data):
    """SipHash-2-4 as Aumasson and Bernstein (2012) describe it."""
    k0, k1 = struct.unpack("<QQ", key)
    v = [k0 ^ 0x736F6D6570736575, k1 ^ 0x646F72616E646F6D, k0 ^ 0x6C7967656E657261, k1 ^ 0x7465646279746573]

    def rotate(x, n):
        return ((x << n) | (x >> (64 - n))) & MASK

    def rounds(count):
        for _ in range(count):
            v[0] = (v[0] + v[1]) & MASK
            v[1] = rotate(v[1], 13) ^ v[0]
            v[0] = rotate(v[0], 32)
            v[2] = (v[2] + v[3]) & MASK
            v[3] = rotate(v[3], 16) ^ v[2]
            v[0] = (v[0] + v[3]) & MASK
            v[3] = rotate(v[3], 21) ^ v[0]
            v[2] = (v[2] + v[1]) & MASK
            v[1] = rotate(v[1], 17) ^ v[2]
            v[2] = rotate(v[2], 32)

    whole = len(data) // 8 * 8
    last = data[whole:] + bytes(7 - len(data) % 8) + bytes([len(data) & 0xFF])
    for word, in struct.iter_unpack("<Q", data[:whole] + last):
        v[3] ^= word
        rounds(2)
        v[0] ^= word
    v[2] ^= 0xFF
    rounds(4)
    return v[0] ^ v[1] ^ v[2] ^ v[3]


def signed(value):
    value &= MASK
    return value - (1 << 64) if value >> 63 else value


def row_sum(*columns):
    data = b""
    for value in columns:
        if value is None:
            data += struct.pack("<Q", MASK)
        elif isinstance(value, int):
            data += struct.pack("<q", value)
        else:
            text = value.encode()
            data += struct.pack("<Q", len(text)) + text
    return signed(siphash24(b"lathbook row sum", data))


def check(path):
    wrong = []
    header = open(path, "rb").read(100)
    if header[68:72] != b"LTHB":
        return ["the application id is not LTHB"]
    book = sqlite3.connect(path)
    sums = {
        "records": "kind, id, revision, body",
        "log": "revision, at, verb, label, of, state, changes",
        "changes": "revision, step, kind, id, before, after",
        "blobs": "sha256, media_type, bytes",
        "meta": "revision, records, records_sum",
    }
    if book.execute("PRAGMA user_version").fetchone()[0] >= 2:
        sums["asked"] = "key, revision"
    for table, columns in sums.items():
        rows = book.execute(f"SELECT sum, {columns} FROM {table}").fetchall()
        if not rows:
            wrong.append(f"{table} is empty: this book checks nothing of it")
        wrong += [f"{table} {row[1:3]}: sum" for row in rows if row[0] != row_sum(*row[1:])]

    wrong += [f"blob {name}: digest" for name, data in book.execute("SELECT sha256, data FROM blobs") if hashlib.sha256(data).hexdigest() != name]

    records = {(kind, name): body for kind, name, body in book.execute("SELECT kind, id, body FROM records")}
    wrong += [f"{key}: id" for key, body in records.items() if json.loads(body).get("id", "about") != key[1]]
    revision, count, total = book.execute("SELECT revision, records, records_sum FROM meta").fetchone()
    if count != len(records) or total != signed(sum(s for s, in book.execute("SELECT sum FROM records"))):
        wrong.append("meta: totals")

    replayed = {}
    entries = book.execute("SELECT revision, verb, of FROM log ORDER BY revision").fetchall()
    if [entry[0] for entry in entries] != list(range(1, revision + 1)):
        wrong.append("log: gaps")
    for number, verb, of in entries:
        rows = book.execute("SELECT kind, id, before, after FROM changes WHERE revision = ? ORDER BY step", (of or number,)).fetchall()
        if verb == "undo":
            rows = [(kind, name, after, before) for kind, name, before, after in reversed(rows)]
        for kind, name, before, after in rows:
            if replayed.pop((kind, name), None) != before:
                wrong.append(f"log {number}: {kind} {name} before")
            if after is not None:
                replayed[(kind, name)] = after
    if replayed != records:
        wrong.append("log: the replay does not give the records")
    return wrong


def main(paths):
    # The vector of the paper's appendix A: key 00..0f, input 00..0e.
    assert siphash24(bytes(range(16)), bytes(range(15))) == 0xA129CA6149BE45E5
    faults = []
    for path in paths:
        with tempfile.NamedTemporaryFile() as copy:  # opening may leave files beside a book
            shutil.copyfile(path, copy.name)
            faults += [f"{path}: {fault}" for fault in check(copy.name)]
    print("\n".join(faults) or f"{len(paths)} book(s) hold what their page says")
    return 1 if faults or not paths else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
