#!/usr/bin/env python3
"""Opens a locked copy by docs/formats/locked-copy.md alone, with another binding of libsodium.

locked_copy_reference.py LATHBOOK. Fails when the copy that `lathbook backup` makes is not of the form described, or does
not hold the book; and when `lathbook restore` does not open one written here.
"""
import pathlib
import secrets
import sqlite3
import struct
import subprocess
import sys
import tempfile

from nacl import bindings, pwhash

MAGIC = b"LATHBOOK LOCKED\x01"
PART = 65536
SEAL = bindings.crypto_secretstream_xchacha20poly1305_ABYTES
FINAL = bindings.crypto_secretstream_xchacha20poly1305_TAG_FINAL
MESSAGE = bindings.crypto_secretstream_xchacha20poly1305_TAG_MESSAGE
WORDS = "slate over the old scullery, ünder snow"


def key_of(words, salt, passes, memory):
    return pwhash.argon2id.kdf(32, words.encode(), salt, opslimit=passes, memlimit=memory)


def opened(data, words):
    header, parts = data[:72], data[72:]
    assert header[:16] == MAGIC, header[:16]
    passes, memory = struct.unpack("<QQ", header[16:32])
    assert (passes, memory) == (3, 256 << 20), (passes, memory)
    state = bindings.crypto_secretstream_xchacha20poly1305_state()
    bindings.crypto_secretstream_xchacha20poly1305_init_pull(state, header[48:], key_of(words, header[32:48], passes, memory))
    out, tag = b"", None
    for at in range(0, len(parts), PART + SEAL):
        assert tag in (None, MESSAGE)
        part, tag = bindings.crypto_secretstream_xchacha20poly1305_pull(state, parts[at:at + PART + SEAL], header)
        out += part
    assert tag == FINAL, tag
    return out


def locked(data, words, passes, memory):
    salt = secrets.token_bytes(16)
    state = bindings.crypto_secretstream_xchacha20poly1305_state()
    stream = bindings.crypto_secretstream_xchacha20poly1305_init_push(state, key_of(words, salt, passes, memory))
    header = MAGIC + struct.pack("<QQ", passes, memory) + salt + stream
    out = header
    for at in range(0, len(data), PART):
        last = at + PART >= len(data)
        out += bindings.crypto_secretstream_xchacha20poly1305_push(state, data[at:at + PART], header, FINAL if last else MESSAGE)
    return out


def main():
    lathbook = sys.argv[1]

    def run(*words):
        return subprocess.run([lathbook, *map(str, words)], capture_output=True, text=True, check=True).stdout

    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        (folder / "words").write_text(WORDS + "\nanother line\n")
        run("demo", folder / "house.lathbook")
        run("backup", folder / "house.lathbook", "--to", folder / "copy", "--passphrase-file", folder / "words")
        plain = opened((folder / "copy").read_bytes(), WORDS)
        (folder / "opened.lathbook").write_bytes(plain)
        link = sqlite3.connect(folder / "opened.lathbook")
        assert link.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        link.close()
        assert run("export", folder / "opened.lathbook") == run("export", folder / "house.lathbook")

        (folder / "ours").write_bytes(locked((folder / "house.lathbook").read_bytes(), WORDS, 2, 32 << 20))
        run("restore", folder / "ours", "--to", folder / "back.lathbook", "--passphrase-file", folder / "words")
        assert run("export", folder / "back.lathbook") == run("export", folder / "house.lathbook")
    print("locked copies open both ways")


main()
