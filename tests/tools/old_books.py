#!/usr/bin/env python3
"""Books of every released schema, opened by the program: old_books.py LATHBOOK BOOK...

Reading leaves the file as it was. The first change brings it up to date, says so, and keeps the file as it was beside it;
the next one does neither. A book of a later schema is refused by every command, unharmed.
"""
import pathlib
import shutil
import sqlite3
import subprocess
import sys
import tempfile

lathbook, *books = sys.argv[1:]
faults = []


def check(holds, what):
    if not holds:
        faults.append(what)


def run(*words):
    return subprocess.run([lathbook, *map(str, words)], capture_output=True, text=True, check=False)


def version_of(path):
    return int.from_bytes(path.read_bytes()[60:64], "big")


newest = max(version_of(pathlib.Path(one)) for one in books)
for source in map(pathlib.Path, books):
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        book = folder / "house.lathbook"
        shutil.copy(source, book)
        old, version = book.read_bytes(), version_of(book)
        check(run("check", book).returncode == 0, f"{source.name}: its jobs are not judged")
        check(book.read_bytes() == old, f"{source.name}: reading changed it")
        kept = folder / f"house.lathbook.schema-{version}"
        first = run("redo", book)
        check(first.returncode == 0, f"{source.name}: {first.stderr}")
        check(version_of(book) == newest, f"{source.name}: is of schema {version_of(book)} after a change")
        told = " ".join(first.stderr.split())
        if version < newest:
            check("brought up to date" in told and str(kept) in told.replace(" ", ""), f"{source.name}: says {told}")
            check(kept.exists() and run("verify", "--book", kept).returncode == 0, f"{source.name}: the old file is not kept")
            check("redo" not in run("history", "--book", kept).stdout, f"{source.name}: the kept file is not the old one")
        else:
            check(not told, f"{source.name}: says {told}")
        check(not run("undo", book).stderr, f"{source.name}: says it again")
        check(len(list(folder.iterdir())) == (2 if version < newest else 1), f"{source.name}: left {list(folder.iterdir())}")

        link = sqlite3.connect(book)
        link.execute(f"PRAGMA user_version = {newest + 1}")
        link.close()
        newer = book.read_bytes()
        for words in (["history"], ["undo"], ["verify"], ["export"], ["backup", "--to", folder / "copy"]):
            refused = run(*words, book)
            check(refused.returncode == 1 and "newer" in refused.stderr, f"newer, {words[0]}: {refused.stdout}{refused.stderr}")
        check(book.read_bytes() == newer and not (folder / "copy").exists(), "a newer book was touched")

print("\n".join(faults) or f"{len(books)} books of schemas up to {newest} open")
sys.exit(1 if faults else 0)
