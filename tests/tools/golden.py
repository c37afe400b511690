#!/usr/bin/env python3
"""Runs the sessions in tests/golden/ and in Markdown pages, and compares what is printed, letter by letter.

A session is a text file: lines starting with `$ ` are commands, run by bash one after another in one empty folder with
lathbook on the path; what follows, up to the next command, is what they must print (standard output and error
together). An exit status other than 0 is the last line, `[exit 11]`. Other lines at the top, starting with `#`, say
what the session shows. In Markdown only blocks marked ```console count. Moments of time print as <time>.

    golden.py PROGRAM FILE...            compare
    golden.py --update PROGRAM FILE...   write what is printed into the files, to be read as part of the change
"""
import difflib
import os
import pathlib
import re
import subprocess
import sys
import tempfile

TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ")


def run(command, folder, program):
    environment = {
        "PATH": f"{pathlib.Path(program).resolve().parent}:/usr/bin:/bin",
        "HOME": folder,
        "LC_ALL": "C.UTF-8",
        "TZ": "UTC",
        "COLUMNS": "80",
    }
    done = subprocess.run(["bash", "-c", command], cwd=folder, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, timeout=120, check=False)
    text = TIME.sub("<time>", done.stdout.decode()).replace(folder, "<folder>")
    if text and not text.endswith("\n"):
        text += "\n"
    return text + (f"[exit {done.returncode}]\n" if done.returncode else "")


def session(lines, program, folder):
    """The lines as they would be if every command printed what it prints now; and how many commands ran."""
    out, ran, skipping = [], 0, False
    for line in lines:
        if line.startswith("$ "):
            out.append(line)
            out.extend(run(line[2:], folder, program).splitlines())
            ran += 1
            skipping = True
        elif not skipping:
            out.append(line)
    return out, ran


def renew(path, program):
    lines = path.read_text().splitlines()
    with tempfile.TemporaryDirectory() as folder:
        if path.suffix != ".md":
            return session(lines, program, folder)
        out, block, ran = [], None, 0
        for line in lines:
            if block is None:
                out.append(line)
                if line.strip() == "```console":
                    block = []
            elif line.strip() == "```":
                renewed, count = session(block, program, folder)
                out += renewed + [line]
                ran += count
                block = None
            else:
                block.append(line)
        return out, ran


def main():
    update = sys.argv[1] == "--update"
    program, *files = sys.argv[2 if update else 1:]
    total, wrong = 0, 0
    for name in files:
        path = pathlib.Path(name)
        before = path.read_text().splitlines()
        after, ran = renew(path, program)
        total += ran
        if ran == 0:
            print(f"{name}: holds no command")
            wrong += 1
        elif before != after and update:
            path.write_text("\n".join(after) + "\n")
        elif before != after:
            wrong += 1
            print("\n".join(difflib.unified_diff(before, after, f"{name} as written", f"{name} as printed now", lineterm="")))
        long = [line for line in after if len(line) > 80 and not line.startswith(("$ ", "#", "/", "{", " ", '"')) and path.suffix != ".md"]
        for line in long:
            print(f"{name}: wider than 80 columns: {line}")
        wrong += bool(long)
    print(f"{total} commands, {wrong} files differ")
    os._exit(1 if wrong or not total else 0)


if __name__ == "__main__":
    main()
