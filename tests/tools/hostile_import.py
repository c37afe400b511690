#!/usr/bin/env python3
"""Files made to hurt, given to `lathbook import`: each is refused in words, soon, in modest memory, leaving nothing behind.

hostile_import.py LATHBOOK
"""
import base64
import hashlib
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import time

MOST_SECONDS = 30
MOST_MB = 1500


def book(**more):
    return {"format": "lathbook-book", "version": 1, "about": {"title": "A house"}, **more}


def room(**more):
    return {"id": "R1", "name": "Kitchen", **more}


def text(value):
    return json.dumps(value).encode()


def file_of(data, **more):
    return {"sha256": hashlib.sha256(data).hexdigest(), "media_type": "image/jpeg", "base64": base64.b64encode(data).decode(), **more}


PLAIN = text(book())
# Made when they are needed: what this script holds itself would count as the program's.
CASES = {
    "nothing": lambda: b"",
    "not JSON": lambda: b"Dear neighbour",
    "a picture": lambda: b"\xff\xd8\xff\xe0" + bytes(2000),
    "lists a million deep": lambda: b"[" * 1_000_000,
    "objects 200,000 deep": lambda: b'{"a":' * 200_000,
    "a list deep in a book": lambda: PLAIN[:-1] + b', "x": ' + b"[" * 50_000 + b"]" * 50_000 + b"}",
    "a number beyond any": lambda: text(book(storeys=[{"id": "L1", "name": "G", "floor_m": 0}])).replace(b'"floor_m": 0', b'"floor_m": 1e999'),
    "a number of 400,000 digits": lambda: text(book(storeys=[{"id": "L1", "name": "G", "floor_m": 0}])).replace(b'"floor_m": 0', b'"floor_m": ' + b"9" * 400_000),
    "not a number": lambda: PLAIN.replace(b'"version": 1', b'"version": NaN'),
    "a version that is not there yet": lambda: PLAIN.replace(b'"version": 1', b'"version": 18446744073709551617'),
    "the same id twice": lambda: text(book(storeys=[{"id": "L1", "name": "G", "floor_m": 0}, {"id": "L1", "name": "H", "floor_m": 3}])),
    "the same field twice": lambda: PLAIN.replace(b'"title": "A house"', b'"title": "A", "title": "B"'),
    "no UTF-8": lambda: PLAIN.replace(b"A house", b"A \xff\xfe house"),
    "UTF-8 too long": lambda: PLAIN.replace(b"A house", b"A \xc0\xaf house"),
    "half a surrogate": lambda: PLAIN.replace(b"A house", b"A \\ud800 house"),
    "a zero byte in the text": lambda: PLAIN.replace(b"A house", b"A \x00 house"),
    "a zero in a string": lambda: PLAIN.replace(b"A house", b"A \\u0000 house"),
    "a title of 100 MB": lambda: PLAIN.replace(b"A house", b"h" * 100_000_000),
    "100 MB of blanks and then no book": lambda: b" " * 100_000_000 + b"[]",
    "a field of 100 MB that nobody knows": lambda: PLAIN[:-1] + b', "x": "' + b"x" * 100_000_000 + b'"}',
    "a million items": lambda: text(book(materials=[{"id": f"M{i}"} for i in range(1_000_000)])),
    "unknown fields": lambda: text(book(rooms=[room(onclick="alert(1)")])),
    "names of the language beneath": lambda: text(book(__proto__={"x": 1}, constructor=1)),
    "an id that is a path": lambda: text(book(storeys=[{"id": "../../etc/passwd", "name": "G", "floor_m": 0}])),
    "a group within itself": lambda: text(book(groups=[{"id": "G1", "name": "a", "parent": "G2", "alike": "same kind"}, {"id": "G2", "name": "b", "parent": "G1", "alike": "same kind"}])),
    "a file that is not base64": lambda: text(book(files=[{"sha256": "0" * 64, "media_type": "image/jpeg", "base64": "!!!"}])),
    "a file of another digest": lambda: text(book(files=[file_of(b"abc", sha256="0" * 64)])),
    "an outline of a million corners": lambda: text(book(storeys=[{"id": "L1", "name": "G", "floor_m": 0}], rooms=[room(storey="L1", outline=[[i % 7, i % 5] for i in range(1_000_000)])])),
    "an outline without an end": lambda: text(book(storeys=[{"id": "L1", "name": "G", "floor_m": 0}], rooms=[room(storey="L1", outline=[[0, 0], [1e308, 0], [1e308, 1e308]])])),
}


def main():
    lathbook = sys.argv[1]
    faults = []
    slowest, largest = ("", 0.0), ("", 0.0)
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        (folder / "sound.json").write_bytes(PLAIN)
        subprocess.run([lathbook, "import", folder / "sound.json", folder / "sound.lathbook"], check=True, capture_output=True)
        (folder / "sound.lathbook").unlink()
        (folder / "sound.json").unlink()
        for what, data in CASES.items():
            (folder / "in.json").write_bytes(data())
            start = time.perf_counter()
            with open(folder / "said", "wb") as said:
                program = subprocess.Popen([lathbook, "import", folder / "in.json", folder / "out.lathbook"], stdout=said, stderr=said)
                _, status, used = os.wait4(program.pid, 0)
                program.returncode = os.waitstatus_to_exitcode(status)
            seconds, mb = time.perf_counter() - start, used.ru_maxrss / 1024
            slowest, largest = max(slowest, (what, seconds), key=lambda one: one[1]), max(largest, (what, mb), key=lambda one: one[1])
            words = (folder / "said").read_bytes()
            if program.returncode not in (1, 2):
                faults.append(f"{what}: exit {program.returncode} {words[:200]!r}")
            if not words.startswith(b"lathbook:") or b"a fault of the program itself" in words:
                faults.append(f"{what}: says {words[:200]!r}")
            if len(words) > 100_000:
                faults.append(f"{what}: says {len(words)} bytes")
            if seconds > MOST_SECONDS or mb > MOST_MB:
                faults.append(f"{what}: {seconds:.1f} s, {mb:.0f} MB")
            left = sorted(one.name for one in folder.iterdir())
            if left != ["in.json", "said"]:
                faults.append(f"{what}: left {left}")
                for one in folder.glob("out*"):
                    one.unlink()
    print("\n".join(faults) or f"{len(CASES)} files refused; slowest {slowest[1]:.1f} s ({slowest[0]}), most memory {largest[1]:.0f} MB ({largest[0]})")
    sys.exit(1 if faults else 0)


main()
