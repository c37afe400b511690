#!/usr/bin/env python3
"""Looks for words of one country in everything a book of another prints: every command on the demo house under `au`,
every paper it makes, read back as text. The same is made under `gb`, where those words must turn up: a net that
catches nothing there would catch nothing here.

    country_words.py PROGRAM
"""
import json
import pathlib
import re
import subprocess
import sys
import tempfile

# What only Great Britain calls by these names, as patterns.
BRITISH = {
    "the regulator": r"\bHSE\b|Health and Safety Executive",
    "its law": r"\bCAR 2012\b|Control of Asbestos Regulations",
    "a class of its work": r"notifiable non-licensed",
    "its waste paper": r"[Cc]onsignment note",
    "its money": r"£|\bGBP\b",
    "its clearance": r"four-stage",
    "its waste codes": r"17 06 0[15]",
    "its country": r"\bBritish\b|\bBritain\b|\bEngland\b",
    "its mask": r"\bFFP3\b",
    "its surveys": r"licensed surveyor|by a surveyor",
}
# Said of where a figure comes from or of what was reckoned with, not of whose law holds.
SAID_OF_SOURCES = re.compile(
    r"in a British town|of British men|all causes, Britain|had everybody worn an FFP3")


def run(program, folder, *words, fails=()):
    done = subprocess.run([program, *words], cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, timeout=300,
                          check=False, env={"HOME": str(folder), "PATH": "/usr/bin:/bin", "COLUMNS": "80", "LC_ALL": "C.UTF-8"})
    text = done.stdout.decode()
    if done.returncode not in (0, 10, 11, 12, 13, *fails):
        sys.exit(f"{' '.join(words)}: exit {done.returncode}\n{text}")
    return text


def everything(program, country):
    """All that is printed, by command."""
    said = {}
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)

        def told(*words):
            said[" ".join(words)] = run(program, folder, *words)
            return said[" ".join(words)]

        told("demo", "house.lathbook", "--country", country)
        if country == "au":
            told("set", "about", "region=nsw")
        # A removal that is done and its certificate, which the demo has not.
        told("add", "certificate", "party=PA2", "materials=M14", "area_m2=10.1", "height_m=2.4",
             "work_finished_on=2026-12-04", "issued_on=2026-12-03", "stages=visual inspection")
        whole = json.loads(run(program, folder, "export", "--without-files"))
        told("check")
        told("check", "C1")
        for job in whole["jobs"]:
            told("check", job["id"])
            told("check", job["id"], "--json")
        told("show")
        for kind in ("rooms", "materials", "jobs", "events", "samples", "results", "parties"):
            told("show", kind)
        for material in whole["materials"]:
            told("show", material["id"])
            told("show", material["id"], "--json")
        told("show", "about")
        told("event")
        for event in whole["events"]:
            told("event", event["id"], "--draws", "512")
        told("event", "--now", "--family", "insulating-board", "--large")
        told("test-plan")
        told("timeline")
        told("waste")
        told("waste", "--json")
        told("papers", "--to", "papers")
        for paper in sorted((folder / "papers").rglob("*")):
            if paper.suffix == ".pdf":
                text = subprocess.run(["pdftotext", "-layout", str(paper), "-"], stdout=subprocess.PIPE, check=True).stdout.decode()
            elif paper.suffix in (".csv", ".json", ".ics", ".txt"):
                text = paper.read_text()
            else:
                continue
            said[f"paper {paper.relative_to(folder / 'papers')}"] = text
    return said


def lines_with(said, pattern):
    found = []
    for where, text in said.items():
        for line in text.splitlines():
            if re.search(pattern, SAID_OF_SOURCES.sub("", line)):
                found.append(f"{where}: {line.strip()}")
    return found


def main():
    program = str(pathlib.Path(sys.argv[1]).resolve())
    own, other = everything(program, "gb"), everything(program, "au")
    faults = []
    for what, pattern in BRITISH.items():
        if not lines_with(own, pattern):
            faults.append(f"nothing under gb says {what} ({pattern}): the net is torn")
        faults += lines_with(other, pattern)
    print("\n".join(faults) or f"{len(other)} texts, none of them British")
    sys.exit(1 if faults else 0)


main()
