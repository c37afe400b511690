#!/usr/bin/env python3
"""`lathbook read-report` on real PDFs in invented layouts, and on files made to hurt. read_report.py PROGRAM

The pages are set in Helvetica by their own widths, each cell by itself, as a laboratory's program would. What the command
says must be what the page says; the commands it prints must record exactly that; nothing may be written by it alone.
"""
import json
import os
import pathlib
import re
import shlex
import subprocess
import sys
import tempfile

PROGRAM = sys.argv[1]
faults = []


def check(holds, what):
    if not holds:
        faults.append(what)


def pdf_of(pages):
    """Pages of (x, y, text) in Helvetica of 9 points; y counts down from the top."""
    objects = ["<< /Type /Catalog /Pages 2 0 R >>", None, "<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica >>"]
    kids = []
    for cells in pages:
        drawn = "".join(f"BT /F 9 Tf {x} {820 - y} Td ({text}) Tj ET\n" for x, y, text in cells)
        kids.append(f"{len(objects) + 1} 0 R")
        objects.append(f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] /Contents {len(objects) + 2} 0 R "
                       "/Resources << /Font << /F 3 0 R >> >> >>")
        objects.append(f"<< /Length {len(drawn)} >>\nstream\n{drawn}endstream")
    objects[1] = f"<< /Type /Pages /Kids [{' '.join(kids)}] /Count {len(pages)} >>"
    out, table = b"%PDF-1.4\n", f"xref\n0 {len(objects) + 1}\n0000000000 65535 f \n"
    for number, body in enumerate(objects, 1):
        table += f"{len(out):010} 00000 n \n"
        out += f"{number} 0 obj\n{body}\nendobj\n".encode()
    return out + f"{table}trailer\n<< /Size {len(objects) + 1} /Root 1 0 R >>\nstartxref\n{len(out)}\n%%EOF\n".encode()


def table(rows, columns, top=120, step=16):
    return [(x, top + step * n, text) for n, row in enumerate(rows) for x, text in zip(columns, row) if text]


def run(*words, **more):
    return subprocess.run([PROGRAM, *map(str, words)], capture_output=True, text=True, check=False, timeout=120, **more)


def lathbook(*words):
    done = run(*words)
    check(done.returncode == 0, f"{words}: {done.stderr}")
    return done.stdout


folder = pathlib.Path(tempfile.mkdtemp(prefix="lathbook-report-"))
book = folder / "house.lathbook"
lathbook("demo", book)
for label in ("M10-1", "M10-2", "M10-12"):
    lathbook("add", "sample", "material=M10", f"label={label}", "taken_on=2026-11-18", "sent_on=2026-11-19", book)
ids = {one["label"]: one["id"] for one in json.loads(lathbook("export", "--without-files", book))["samples"] if "label" in one}


def read(name, pages):
    file = folder / f"{name}.pdf"
    file.write_bytes(pdf_of(pages))
    before = book.read_bytes()
    answer = json.loads(lathbook("read-report", "--json", file, book))
    check(book.read_bytes() == before, f"{name}: reading wrote into the book")
    return {one["sample"]: one for one in answer["proposals"]}, answer, file


HEAD = [(40, 40, "Thistle Row Fibre Laboratory"), (40, 56, "Accreditation number 90210"),
        (40, 72, "Date of report: 25 November 2026"), (300, 72, "Date of analysis: 24/11/2026"),
        (40, 96, "Identification of asbestos in bulk samples")]

# A ruled table over two pages, one row broken, a label that begins another.
proposals, answer, file = read("table", [
    HEAD + table([("Sample", "Where", "Result", "Amount"),
                  ("S1 front room ceiling", "Front room", "Chrysotile", "1-2 %"),
                  ("M10-1", "Garage roof, edge", "No asbestos detected", ""),
                  ("", "beside the gutter", "", "")], (40, 190, 330, 480)),
    table([("Sample", "Where", "Result", "Amount"),
           ("M10-12", "Garage roof, ridge", "No asbestos detected", ""),
           ("", "", "in the paint", ""),
           ("Q7-9", "Elsewhere", "No asbestos detected", "")], (40, 190, 330, 480))])
check(proposals["S1"]["said"] == "detected" and proposals["S1"]["fibres"] == ["chrysotile"], f"table S1: {proposals['S1']}")
check(proposals[ids["M10-1"]]["said"] == "none detected", f"table M10-1: {proposals[ids['M10-1']]}")
check(proposals[ids["M10-12"]]["said"] == "unclear", f"table M10-12: {proposals[ids['M10-12']]}")
check(proposals[ids["M10-12"]]["lines"][0]["page"] == 2, "table M10-12: its page")
check("result" not in proposals[ids["M10-12"]] and "command" not in proposals[ids["M10-12"]], "an unclear one is offered as a result")
check([one["name"] for one in answer["strangers"]] == ["Q7-9"], f"strangers: {answer['strangers']}")
check(answer["not_named"] == [ids["M10-2"]], f"not named: {answer['not_named']}")
check((answer.get("reported_on"), answer.get("analysed_on")) == ("2026-11-25", "2026-11-24"), "the days")
check(answer.get("accreditation") == "Accreditation number 90210", "the accreditation")

# What it prints is what records it, and nothing else is recorded.
words = lathbook("read-report", file, book)
commands = re.findall(r"^  (lathbook .*)$", words, re.M)
check(len(commands) == 3 and commands[0].startswith("lathbook attach"), f"commands: {commands}")
check("Unclear: read it yourself" in words and "Hold each line against the paper" in " ".join(words.split()), "the text form")
for command in commands:
    lathbook(*shlex.split(command)[1:])
kept = json.loads(lathbook("export", book))
results = {one["sample"]: one for one in kept["results"]}
check(results["S1"] == {"id": results["S1"]["id"], "sample": "S1", "found": True, "fibres": ["chrysotile"], "amount": "1-2 %",
                        "reported_on": "2026-11-25", "document": "D1"}, f"recorded: {results['S1']}")
check(results[ids["M10-1"]]["found"] is False and ids["M10-12"] not in results, "recorded of M10-1 and M10-12")
check(kept["documents"][0]["kind"] == "laboratory report", "the document")
again = {one["sample"]: one for one in json.loads(lathbook("read-report", "--json", file, book))["proposals"]}
check(again["S1"].get("has_result") == results["S1"]["id"] and "command" not in again["S1"], "a second result is offered")
lathbook("verify", book)

# A list, a letter, and a block to each sample.
proposals, _, _ = read("list", [HEAD + table([("M10-2: no asbestos detected.",), ("M10-12: amosite detected.",)], (40,))])
check(proposals[ids["M10-2"]]["said"] == "none detected", f"list M10-2: {proposals[ids['M10-2']]}")
check(proposals[ids["M10-12"]]["fibres"] == ["amosite"], f"list M10-12: {proposals[ids['M10-12']]}")
proposals, _, _ = read("letter", [HEAD + table([("In the piece of roof marked M10-2 we looked for asbestos; none was",),
                                               ("found in its paint, while chrysotile was found below.",)], (40,))])
check(proposals[ids["M10-2"]]["said"] == "unclear", f"letter: {proposals[ids['M10-2']]}")
proposals, _, _ = read("blocks", [HEAD + table([("Sample reference:", "M10-2"), ("Place:", "Garage"), ("Result:", "No asbestos detected"),
                                               ("Sample reference:", "M10-12"), ("Place:", "Garage"), ("Result:", "Chrysotile")], (40, 160))])
check(proposals[ids["M10-2"]]["said"] == "none detected", f"blocks M10-2: {proposals[ids['M10-2']]}")
check(proposals[ids["M10-12"]]["fibres"] == ["chrysotile"], f"blocks M10-12: {proposals[ids['M10-12']]}")

# A column for each kind: what is said of one is said of that one alone.
proposals, _, _ = read("matrix", [HEAD + table([("Sample", "Chrysotile", "Amosite", "Crocidolite"),
                                               ("M10-2", "Not detected", "Not detected", "Not detected")], (40, 160, 280, 400))])
check(proposals[ids["M10-2"]]["said"] == "unclear", f"matrix: {proposals[ids['M10-2']]}")


# ---- files made to hurt ---------------------------------------------------------------------------------------------
def refused(name, content, *any_of, **more):
    file = folder / f"{name}.pdf"
    if content is not None:
        file.write_bytes(content)
    before = book.read_bytes()
    done = run("read-report", file, book, **more)
    check(done.returncode in (1, 2) and not done.stdout, f"{name}: {done.returncode} {done.stdout}")
    said = " ".join(done.stderr.split())
    check(any(words in said for words in any_of), f"{name}: {said}")
    check(book.read_bytes() == before, f"{name}: something was written")


whole = pdf_of([HEAD])
refused("page", b"<html><title>M10-2 NAD</title></html>", "is not a PDF by its first bytes")
refused("cut", b"%PDF-1.4\n" + whole[50:90], "is damaged")
refused("scan", pdf_of([[]]), "holds no text")
refused("huge", whole + b"\n" * (12 << 20), "is too large")
# More text than any report, or, on a slow machine, more than there is time for.
refused("long", pdf_of([[(20, 20 + 10 * n, "words " * 19) for n in range(79)]] * 600), "holds too much text", "takes too long")
refused("missing", None, "cannot be read")
(folder / "plain.pdf").write_bytes(whole)
locked = folder / "locked.pdf"
subprocess.run(["qpdf", "--encrypt", "secret", "owner", "256", "--", folder / "plain.pdf", locked], check=True)
refused("locked", None, "is locked with a passphrase")
refused("plain", None, "pdftotext is not there", env={**os.environ, "PATH": str(folder)})
# Pages that lead to themselves, and a stream that unpacks to a hundred times its size and more.
loop = whole.replace(b"/Kids [4 0 R]", b"/Kids [2 0 R]")
refused("loop", loop, "")
subprocess.run(["rm", "-r", str(folder)], check=True)

print("\n".join(faults) if faults else "reports are read as they stand, and refused as they should be")
sys.exit(1 if faults else 0)
