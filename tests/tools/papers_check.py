#!/usr/bin/env python3
"""Makes every paper of the demo house and reads it back with other people's readers.

qpdf looks for faults in the PDFs, poppler says what is on them and how they look, ZBar reads the QR codes, icalendar
the calendar, csv and json the tables. Usage: papers_check.py LATHBOOK
"""
import contextlib
import csv
import datetime
import hashlib
import io
import itertools
import json
import os
import pathlib
import re
import resource
import signal
import sqlite3
import subprocess
import sys
import tempfile

import icalendar
import numpy as np
import PIL.Image
import scipy.ndimage

LATHBOOK = pathlib.Path(sys.argv[1]).resolve()
TODAY = "2026-11-25"
MM = 72 / 25.4
failures = []


def check(holds, what):
    if not holds:
        failures.append(what)


def call(*words, **more):
    return subprocess.run([str(word) for word in words], capture_output=True, text=True, check=False, **more)


def papers(book, folder, *words, **more):
    return call(LATHBOOK, "papers", *words, "--book", book, "--to", folder, "--today", TODAY, **more)


def digests(folder):
    return {str(p.relative_to(folder)): hashlib.sha256(p.read_bytes()).hexdigest()
            for p in sorted(folder.rglob("*")) if p.is_file()}


def as_read(day, between=r"\s+"):
    """2026-03-03 as papers write it: 3 March 2026."""
    date = datetime.date.fromisoformat(day)
    return between.join((str(date.day), date.strftime("%B"), str(date.year)))


def dense(text):
    return re.sub(r"\s|-(?=\n)", "", text)


def pages_of(pdf):
    return int(re.search(r"^Pages:\s+(\d+)", call("pdfinfo", pdf).stdout, re.M).group(1))


def text_in(pdf, page, x_mm, width_mm, height_mm=240):
    return call("pdftotext", "-f", page, "-l", page, "-x", round(x_mm * MM), "-W", round(width_mm * MM), "-y", 0, "-H",
                round(height_mm * MM) + 120, pdf, "-").stdout


def picture(pdf, page, dpi):
    """Rows of RGB triples of one page."""
    raw = subprocess.run(["pdftoppm", "-r", str(dpi), "-f", str(page), "-l", str(page), "-aa", "no", "-aaVector", "no",
                          str(pdf)], capture_output=True, check=True).stdout
    head = re.match(rb"P6\s+(\d+)\s+(\d+)\s+255\s", raw)
    width, height = int(head.group(1)), int(head.group(2))
    return width, height, raw[head.end():]


def sound(pdf):
    """What holds for every PDF."""
    name = pdf.name
    report = call("qpdf", "--check", pdf)
    check(report.returncode == 0, f"{name}: qpdf finds {report.stdout}{report.stderr}")
    info = call("pdfinfo", pdf).stdout
    check("Tagged:          yes" in info, f"{name} is not tagged")
    check(re.search(r"^Title:\s+\S", info, re.M), f"{name} has no title")
    raw = pdf.read_bytes()
    check(b"/Lang (en-GB)" in raw, f"{name} does not say its language")
    fonts = call("pdffonts", pdf).stdout.splitlines()[2:]
    check(fonts, f"{name} has no font")
    for font in fonts:
        embedded, subset, unicode_map = font.split()[-5:-2]
        check((embedded, subset, unicode_map) == ("yes", "yes", "yes"), f"{name}: font not embedded as a subset: {font}")
    boxes = call("pdftotext", "-bbox", pdf, "-").stdout
    for page in re.findall(r'<page width="([\d.]+)" height="([\d.]+)">(.*?)</page>', boxes, re.S):
        width, height = float(page[0]), float(page[1])
        for left, top, right, bottom, word in re.findall(
                r'<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">(.*?)</word>', page[2]):
            inside = float(left) >= 5 and float(top) >= 5 and float(right) <= width - 5 and float(bottom) <= height - 5
            check(inside, f"{name}: \"{word}\" runs off the page")
    text = call("pdftotext", pdf, "-").stdout
    check(not re.search(r"\bsafe\b", text.lower()), f"{name} calls something safe")
    check(not re.search(r"\b\d{4}-\d\d-\d\d\b", text), f"{name} writes a day as machines do")
    return text


def paged(pdf, text):
    count = pages_of(pdf)
    for number in range(1, count + 1):
        check(f"page {number} of {count}" in text, f"{pdf.name}: page {number} of {count} is not numbered")
    check(text.count("Local codes and licensed practice come first.") == count, f"{pdf.name}: a page without cautions")
    check(len(re.findall(rf"{as_read(TODAY)} · book\s+revision \d+", text)) == count, f"{pdf.name}: a page without date and revision")


def nothing_alone(pdf):
    """No page of a table's head, a heading or a line to sign alone at its foot or on its own."""
    for number in range(1, pages_of(pdf) + 1):
        lines = [line.strip() for line in call("pdftotext", "-layout", "-f", number, "-l", number, pdf, "-").stdout.splitlines()]
        lines = [line for line in lines if line]
        body = lines[:next(i for i, line in enumerate(lines) if line.startswith("Local codes"))]
        check(len(body) > 1, f"{pdf.name}: page {number} says only {body}")
        check(not re.match(r"What and where on it +Standing", body[-1]), f"{pdf.name}: a table's head alone on page {number}")
        check(not re.match(r".*\(R\d+, ", body[-1]), f"{pdf.name}: a heading alone on page {number}")


def register(pdf, materials, rooms):
    column = (176 - 4 * 2.2) / 7.92
    ids, names = [], ""
    for page in range(1, pages_of(pdf) + 1):
        ids += re.findall(r"^M\d+$", text_in(pdf, page, 17, column * 0.42 + 1), re.M)
        names += text_in(pdf, page, 17 + column * 0.42 + 1.5, column * 2 + 1.5)
    check(sorted(ids) == sorted(m["id"] for m in materials), f"the register lists {sorted(ids)}")
    for material in materials:
        check(dense(material["name"]) in dense(names), f"the register cuts off \"{material['name']}\"")
    text = dense(call("pdftotext", pdf, "-").stdout)
    for room in rooms:
        heads = text.count(dense(f"{room['name']} ({room['id']}, "))
        check(heads == 1, f"the register heads {room['id']} {heads} times")
    empty = [r for r in rooms if not any(m["room"] == r["id"] and "removed_on" not in m for m in materials)]
    folded = text.partition(dense("Rooms with nothing listed"))[2].partition(dense("Nothing that is there now"))[0]
    told = re.findall(r"\((R\d+),", folded)
    check(told == [room["id"] for room in empty], f"the register folds {told}")
    check(("it may not have been looked at" in " ".join(call("pdftotext", pdf, "-").stdout.split())) == bool(empty),
          "the register does not say that empty rooms may not have been looked at")
    check("no asbestos in" not in call("pdftotext", pdf, "-").stdout.lower(), "the register clears a room")
    bookmarks = pdf.read_bytes().count(b"/Title ") + pdf.read_bytes().count(b"/Title(")
    check(bookmarks > 10, "the register has no bookmarks")


def warning_geometry(pdf):
    """Appendix 7: at least 50 mm high and 25 mm wide, 40 % black, 60 % red; measured on the rendered page."""
    dpi = 300
    width, height, pixels = picture(pdf, 1, dpi)
    per_mm = dpi / 25.4
    column = int(16 * per_mm)  # 1 mm inside the first label's left edge, clear of the words

    def at(x, y):
        start = 3 * (y * width + x)
        return pixels[start], pixels[start + 1], pixels[start + 2]

    def black(p):
        return max(p) < 30

    def red(p):
        return p[0] > 150 and max(p[1:]) < 60

    start = int(43 * per_mm)
    blacks = [y for y in range(start, int(94.8 * per_mm)) if black(at(column, y))]
    reds = [y for y in range(start, int(94.8 * per_mm)) if red(at(column, y))]
    upper, lower = len(blacks) / per_mm, len(reds) / per_mm
    row = blacks[3]
    wide = 0
    while black(at(int(15.5 * per_mm) + wide, row)):
        wide += 1
    wide = (wide + int(15.5 * per_mm) - int(15 * per_mm)) / per_mm
    check(abs(upper + lower - 50) < 0.2, f"the label is {upper + lower:.2f} mm high, not 50")
    check(abs(wide - 25) < 0.2, f"the label is {wide:.2f} mm wide, not 25")
    check(abs(upper / (upper + lower) - 0.4) < 0.005, f"the upper part is {upper / (upper + lower):.3f} of the height")
    middle = [at(x, int((44 + 10) * per_mm)) for x in range(int(15 * per_mm), int(40 * per_mm))]
    check(any(min(p) > 240 for p in middle), "no white letter in the black part")
    text = dense(call("pdftotext", pdf, "-").stdout)
    for words in ("WARNINGCONTAINSASBESTOS", "Breathingasbestosdustisdangeroustohealth", "Followsafetyinstructions"):
        check(words in text, f"the label does not say {words}")


def hatches(pdf):
    """On a printer that knows black alone, each standing of the legend still looks like no other."""
    words = re.findall(r'<word xMin="([\d.]+)" yMin="([\d.]+)" [^>]*>(.*?)</word>',
                       call("pdftotext", "-bbox", "-f", 1, "-l", 1, pdf, "-").stdout)
    # Boxes of 6.5 by 4.4 mm stand 7.5 mm left of the words, 0.4 mm above them.
    line = next(y for x, y, word in words if word == "strongly")
    starts = [(float(x), word) for x, y, word in words if y == line]
    firsts = [starts[0]] + [now for before, now in zip(starts, starts[1:]) if now[0] - before[0] > 7.5 * MM
                            and now[1] in ("strongly", "identified", "no", "proven")]
    check([word for _, word in firsts] == ["presumed", "strongly", "identified", "no", "proven"], f"the legend says {firsts}")
    dpi = 400
    raw = subprocess.run(["pdftoppm", "-r", str(dpi), "-f", "1", "-l", "1", "-mono", str(pdf)], capture_output=True,
                         check=True).stdout
    image = PIL.Image.open(io.BytesIO(raw)).convert("L")
    looks = {}
    for x, word in firsts:
        left, top = (x / MM - 7.5 + 0.4) / 25.4 * dpi, (float(line) / MM + 0.4) / 25.4 * dpi
        inside = image.crop((round(left), round(top), round(left + 5.7 / 25.4 * dpi), round(top + 2.8 / 25.4 * dpi)))
        ink = np.array(inside) == 0
        # The dots a printer makes of a grey line leave gaps in it; the eye joins what is under 0.2 mm apart.
        joined = scipy.ndimage.binary_closing(np.pad(ink, 3), np.ones((3, 3)), iterations=2)[3:-3, 3:-3]
        strokes, _ = scipy.ndimage.label(joined, structure=np.ones((3, 3)))
        tallest = max((part[0].stop - part[0].start for part in scipy.ndimage.find_objects(strokes)), default=0)
        looks[word] = (ink.mean(), tallest / ink.shape[0])  # how dark, and how long its strokes are
    for one, other in itertools.combinations(looks, 2):
        darker, longer = (abs(a - b) for a, b in zip(looks[one], looks[other]))
        check(darker > 0.05 or longer > 0.5, f"alike in black and white: {one} and {other}, {looks[one]}, {looks[other]}")
    check(all(dark < 0.6 for dark, _ in looks.values()), f"a hatch that hides what is under it: {looks}")


def codes(pdf, samples, folder):
    image = folder / "labels"
    call("pdftoppm", "-r", "200", "-png", pdf, image)
    read = []
    for page in sorted(folder.glob("labels*.png")):
        read += call("zbarimg", "--quiet", "--raw", page).stdout.split()
    check(sorted(read) == sorted(samples * 2), f"the codes read {read}, not two each of {samples}")


def faults(work, book, out):
    again = papers(book, out, "register")
    check(again.returncode == 1 and "is there already" in again.stderr, "overwrites without --force")
    before = (out / "register.pdf").read_bytes()
    check(papers(book, out, "register", "--force").returncode == 0, "--force does not replace")
    check((out / "register.pdf").read_bytes() == before, "the same book and day give other bytes")
    wrong = papers(book, work / "x", "pamphlet")
    check(wrong.returncode == 2 and "neither a paper nor a job" in wrong.stderr and not (work / "x").exists(),
          "takes an unknown paper")
    wrong = papers(book, work / "x", "--paper", "a3")
    check(wrong.returncode == 2 and "a4 or letter" in wrong.stderr, "takes an unknown size")

    empty = work / "fonts.conf"
    empty.write_text('<?xml version="1.0"?><!DOCTYPE fontconfig SYSTEM "fonts.dtd"><fontconfig>'
                     '<dir>/usr/share/fonts/truetype/dejavu</dir></fontconfig>')
    bare = papers(book, work / "y", "register", env={**os.environ, "FONTCONFIG_FILE": str(empty)})
    check(bare.returncode == 1 and "fonts-open-sans" in bare.stderr and not (work / "y").exists(),
          f"no clear word on a missing font: {bare.stderr}")

    def small_files():
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))

    full = papers(book, work / "z", "register", preexec_fn=small_files)
    left = [p.name for p in (work / "z").rglob("*")]
    check(full.returncode == 1 and "cannot be written" in full.stderr and not left, f"a full disk leaves {left}")


def long_names(work, book):
    """A name far too long for its column, one word of it too long for any line, is wrapped and whole."""
    other = work / "long.lathbook"
    form = json.loads(call(LATHBOOK, "export", book).stdout)
    name = ("Ceiling of the " + "very " * 10 + "long corridor " + "Unterdeckenverkleidungsplatten" * 2 + " end")
    form["materials"][0]["name"] = name
    form["materials"][0]["notes"] = "note " * 700 + "last word"
    (work / "long.json").write_text(json.dumps(form))
    made = call(LATHBOOK, "import", work / "long.json", other)
    check(made.returncode == 0, f"cannot take the long book in: {made.stderr}")
    made = papers(other, work / "long", "register")
    check(made.returncode == 0, f"a long name: {made.stderr}")
    if failures:
        return
    pdf = work / "long" / "register.pdf"
    text = sound(pdf)
    column = (176 - 4 * 2.2) / 7.92
    names = "".join(text_in(pdf, page, 17 + column * 0.42 + 1.5, column * 2 + 1.5) for page in range(1, pages_of(pdf) + 1))
    whole = dense(names)
    check(whole.count("Unterdeckenverkleidungsplatten") == 2 and whole.count("very") >= 10, "a long name is cut")
    check(text.count("note") >= 700, f"a long note is cut: {text.count('note')} of 700")


def calendar_entries(path, form):
    entries = [c for c in icalendar.Calendar.from_ical(path.read_bytes()).walk("VEVENT")]
    keys = [str(entry["UID"]).split("@")[0] for entry in entries]
    check(len(keys) == len(set(keys)), "an entry of the calendar twice")
    for job in form["jobs"]:
        if "wanted_on" not in job or "done_on" in job:
            continue
        own = [entry for entry in entries if str(entry["UID"]).startswith(job["id"] + "@")]
        check(len(own) == 1 and str(own[0]["DTSTART"].dt) == job["wanted_on"], f"{job['id']} is not in the calendar")
    check(sum(key.startswith("look-again-") for key in keys) >= 10, "no looks in the calendar")
    for party in form["parties"]:
        if "licence_expires_on" in party:
            check("licence-" + party["id"] in keys, f"the expiry of {party['id']} is not in the calendar")


def tables(folder, form):
    dictionary = {(row["table"], row["column"]): row for row in csv.DictReader(open(folder / "dictionary.csv", newline=""))}
    whole = json.loads((folder / "tables.json").read_text())
    check(set(whole["tables"]) == {p.stem for p in folder.glob("*.csv")} - {"dictionary"}, "tables.json has other tables")
    for path in folder.glob("*.csv"):
        raw = path.read_bytes()
        check(raw.endswith(b"\r\n"), f"{path.name} does not end its lines as RFC 4180 wants")
        rows = list(csv.reader(io.StringIO(raw.decode(), newline="")))
        check(all(len(row) == len(rows[0]) for row in rows), f"{path.name} has rows of other lengths")
        if path.stem == "dictionary":
            continue
        items = form.get(path.stem)
        worked_out = path.stem in ("register", "exposures", "exposure_models")
        check(worked_out or len(rows) - 1 == len(items or []), f"{path.name} has {len(rows) - 1} rows")
        for head in rows[0]:
            name = head.split(" [")[0]
            row = dictionary.get((path.stem, name))
            check(row is not None, f"{path.stem}.{name} is not in the dictionary")
            if row is not None and (row["unit"] or name.rsplit("_", 1)[-1] in ("m", "m2", "mm", "kg", "km")):
                check(head == f"{name} [{row['unit']}]", f"{path.stem}: the head \"{head}\" lacks its unit")
            if row is not None and not worked_out:
                check(row["meaning"] or name.endswith("id"), f"{path.stem}.{name} is not explained")
    for kind in ("materials", "jobs", "pieces"):
        check([i["id"] for i in whole["tables"][kind]] == [i["id"] for i in form[kind]], f"tables.json: other {kind}")


def exposure(work, book, out, form):
    """A paper for each person who was there, alike in its figures to the tables; nobody in another's paper."""
    event = form["events"][0]
    there = {stay["person"] for stay in event["stays"]}
    check({p.stem for p in out.glob("exposure-*.pdf")} == {"exposure-" + person for person in there},
          "not one exposure record each")
    rows = {row["person"]: row for row in csv.DictReader(open(out / "tables" / "exposures.csv", newline=""))}
    models = list(csv.DictReader(open(out / "tables" / "exposure_models.csv", newline="")))
    check(set(rows) == there and len(models) == 5 * len(there), "the tables of exposures lack somebody or a model")
    names = {person["id"]: person["name"] for person in form["people"]}
    for person in there:
        text = call("pdftotext", "-layout", out / f"exposure-{person}.pdf", "-").stdout
        whole = " ".join(text.split())
        row = rows[person]
        low, middle, high = (float(row[f"breathed_{end} [f/ml h]"]) for end in ("low", "middle", "high"))
        check(0 < low < middle < high, f"{person}: a band that is none")
        line = re.search(r"Breathed in all, with the mask as worn\s+([\d.,]+)\s+([\d.,]+)\s+([\d.,]+)", text)
        shown = [float(one.replace(",", "")) for one in line.groups()] if line else []
        check(len(shown) == 3 and all(abs(a / b - 1) < 0.06 for a, b in zip(shown, (low, middle, high))),
              f"{person}: the paper says {shown}, the table {low, middle, high}")
        check(f"{row['draws']} draws" in whole, f"{person}: the paper does not say how many draws")
        own = [m for m in models if m["person"] == person]
        for model in own:
            check(float(model["deaths_low [1/1000000]"]) > 0, f"{person}: {model['model']} says none")
        for part in ("What to ask a doctor to note", as_read(event["started_at"][:10], " ") + " " + event["started_at"][11:], "12 minutes", "not medical advice",
                     "US EPA 1986", "IRIS", "Darnton 2023", "power law", "What is not known", "Routine X-rays", "40 years"):
            check(part in whole, f"{person}: the record lacks \"{part}\"")
        check(names[person] in whole, f"{person} is not named in their own record")
        for other in there - {person}:
            check(not re.search(rf"\b{names[other]}\b", whole), f"{names[person]}'s record names {names[other]}")
    mask = " ".join(call("pdftotext", "-layout", out / "exposure-PE1.pdf", "-").stdout.split())
    check("is not remembered" in mask and "FFP2" in mask, "the record lacks the mask")
    # One person alone; what the event lacks is said, not guessed; left out with health.
    check(papers(book, work / "one", "PE2").returncode == 0, "no record of one person")
    check([p.name for p in (work / "one").iterdir()] == ["exposure-PE2.pdf"], "PE2 alone is not PE2 alone")
    bare = json.loads(json.dumps(form))
    bare["events"][0]["cuts"] = []
    (work / "bare.json").write_text(json.dumps(bare))
    check(call(LATHBOOK, "import", work / "bare.json", work / "bare.lathbook").returncode == 0, "cannot take the bare book in")
    check(papers(work / "bare.lathbook", work / "bare", "exposure", "handover").returncode == 0, "no record without figures")
    text = " ".join(call("pdftotext", work / "bare" / "exposure-PE1.pdf", "-").stdout.split())
    check("None could be made" in text and "says nothing was cut" in text and "no sign that little" in text,
          "a record without figures does not say so")
    check(papers(book, work / "well", "--without", "health").returncode == 0, "--without health")
    left = [p.name for p in (work / "well").rglob("*") if p.name.startswith("exposure")]
    check(not left, f"health in spite of --without: {left}")


def photos(work, book):
    """Photos of every kind come into the register upright and scaled, without their place; what cannot be shown is told."""
    folder = work / "photos"
    folder.mkdir()
    other = work / "photos.lathbook"
    other.write_bytes(book.read_bytes())
    exif = PIL.Image.Exif()
    exif[0x0112] = 6  # the camera was held on its side
    exif[0x010E] = "PLACE 51.5034N"
    exif.get_ifd(0x8825).update({1: "N", 2: (51.0, 30.0, 12.24)})
    wide = PIL.Image.effect_noise((1600, 1200), 60).convert("RGB")
    wide.save(folder / "held.jpg", exif=exif, quality=92)
    wide.resize((700, 500)).save(folder / "drawn.png")
    wide.resize((900, 300)).save(folder / "small.webp")
    (folder / "broken.jpg").write_bytes(b"\xff\xd8\xff" + b"rubbish" * 50)
    for name, title, of in (("held.jpg", "Lining, held", "material=M15"), ("drawn.png", "Hall", "room=R1"),
                            ("small.webp", "Loft hatch", "room=R1"), ("broken.jpg", "Broken one", "room=R1")):
        made = call(LATHBOOK, "attach", folder / name, f"title={title}", of, "--as-it-is", "--book", other)
        check(made.returncode == 0, f"cannot attach {name}: {made.stderr}")
    # Unless it is kept on purpose, the place does not even come into the book.
    plain = work / "plain.lathbook"
    plain.write_bytes(book.read_bytes())
    made = call(LATHBOOK, "attach", folder / "held.jpg", "title=Lining", "material=M15", "--book", plain)
    check(made.returncode == 0 and b"PLACE" not in plain.read_bytes(), "a book tells where a photo was taken")
    check(b"PLACE" in other.read_bytes(), "a photo kept as it is has lost something")
    made = call(LATHBOOK, "attach", folder / "broken.jpg", "title=Broken", "room=R1", "--book", plain)
    check(made.returncode == 1 and "--as-it-is" in made.stderr, f"a broken picture: {made.stderr}")
    papers(other, work / "shown again", "register", "handover")
    made = papers(other, work / "shown", "register", "handover")
    check(made.returncode == 0 and "D4" in made.stderr, f"photos: {made.stderr}")
    for name in ("register", "handover"):
        pdf = work / "shown" / f"{name}.pdf"
        sound(pdf)
        images = [line.split() for line in call("pdfimages", "-list", pdf).stdout.splitlines()[2:]]
        sizes = sorted((int(line[3]), int(line[4])) for line in images)
        check(sizes == [(390, 520), (520, 173), (520, 371)], f"{name}: photos of sizes {sizes}")
        check(all(line[8] == "jpeg" for line in images), f"{name}: photos not kept as JPEG")
        call("pdfimages", "-all", pdf, folder / name)
        for one in folder.glob(f"{name}-*.jpg"):
            raw = one.read_bytes()
            check(len(raw) <= 60_000, f"{name}: a photo of {len(raw)} bytes")
            check(b"PLACE" not in raw and not PIL.Image.open(one).getexif(), f"{name}: a photo says where it was taken")
        check(b"PLACE" not in pdf.read_bytes(), f"{name} says where a photo was taken")
        text = " ".join(call("pdftotext", pdf, "-").stdout.split())
        check(digests(work / "shown")[f"{name}.pdf"] == digests(work / "shown again")[f"{name}.pdf"],
              f"{name}: the same photos give other bytes")
        for words in ("D1 Lining, held", "D2 Hall", "D3 Loft hatch", "D4 Broken one", "cannot be shown: the JPEG is damaged"):
            check(words in text, f"{name} lacks \"{words}\"")
    # Left out when asked for, of the list of papers too, and said to be.
    made = papers(other, work / "unseen", "register", "handover", "--without", "photos")
    check(made.returncode == 0 and not made.stderr, f"--without photos: {made.stderr}")
    for name in ("register", "handover"):
        pdf = work / "unseen" / f"{name}.pdf"
        text = " ".join(sound(pdf).split())
        check(len(call("pdfimages", "-list", pdf).stdout.splitlines()) == 2, f"{name} shows photos in spite of --without")
        check("D2" not in text and "Lining, held" not in text, f"{name} names photos in spite of --without")
        check("hotos are left out" in text or "by whoever made it: photos." in text, f"{name} does not say what is left out")
    # A photo whose bytes are gone from the file is told and stops nothing.
    with contextlib.closing(sqlite3.connect(other)) as file, file:
        check(file.execute("DELETE FROM blobs WHERE media_type = 'image/png'").rowcount == 1, "no photo to take away")
    made = papers(other, work / "gone", "register")
    check(made.returncode == 0 and "D2" in made.stderr, f"a missing photo: {made.stderr}")
    text = " ".join(call("pdftotext", work / "gone" / "register.pdf", "-").stdout.split())
    check("D2 Hall: " in text and "D1 Lining, held" in text, "the register does not tell of a missing photo")


def formulas(work, book):
    """No text of a book reaches a spreadsheet as a formula."""
    form = json.loads(call(LATHBOOK, "export", book).stdout)
    tricks = ["=1+1", "+cmd", "-2+3", "@SUM(A1)", "\t=1"]
    for trick, material in zip(tricks, form["materials"]):
        material["notes"] = trick
    (work / "tricks.json").write_text(json.dumps(form))
    made = call(LATHBOOK, "import", work / "tricks.json", work / "tricks.lathbook")
    check(made.returncode == 0, f"cannot take the book of formulas in: {made.stderr}")
    made = papers(work / "tricks.lathbook", work / "tricks", "tables")
    check(made.returncode == 0, f"tables: {made.stderr}")
    rows = list(csv.DictReader(open(work / "tricks" / "tables" / "materials.csv", newline="")))
    check([row["notes"] for row in rows[: len(tricks)]] == ["'" + trick for trick in tricks], "a formula in a table")


def quotes(out, form):
    """A quote beside what is to be removed: what it leaves out is named."""
    text = " ".join(call("pdftotext", "-layout", out / "scope.pdf", "-").stdout.split())
    asked = set(re.findall(r"\bM\d+\b", text))
    said = call("pdftotext", out / "quotes.pdf", "-").stdout
    for quote in form["quotes"]:
        missing = asked - set(quote["materials"])
        words = re.findall(r"Not in it: ([M\d, \n]+)\.", said)
        check(any(set(re.findall(r"M\d+", one)) == missing for one in words) if missing else "All that is" in said,
              f"{quote['id']} leaves out {sorted(missing)}, the paper says {words}")


def left_out(work, book, form):
    everything = dense(call("pdftotext", work / "out" / "handover.pdf", "-").stdout)
    made = papers(book, work / "less", "handover", "tables", "scope", "--without", "health,costs,people")
    check(made.returncode == 0, f"--without: {made.stderr}")
    text = dense(sound(work / "less" / "handover.pdf"))
    check("Leftoutofthispackbywhoevermadeit:health,costs,people." in text, "the pack does not say what it leaves out")
    raw = (work / "less" / "tables" / "tables.json").read_text()
    scope = dense(call("pdftotext", work / "less" / "scope.pdf", "-").stdout)
    check("£" not in dense(call("pdftotext", work / "out" / "scope.pdf", "-").stdout), "the scope shows a price")
    check((work / "out" / "quotes.pdf").exists() and not (work / "less" / "quotes.pdf").exists(), "quotes in spite of --without")
    for party in form["parties"]:
        check(dense(party["name"]) in everything, f"the whole pack lacks {party['name']}")
        for less in (text, dense(raw), scope):
            check(dense(party["name"]) not in less, f"names {party['name']} in spite of --without people")
    for person in form["people"]:
        check(dense(person["name"]) not in everything or len(person["name"]) < 4, f"the pack names {person['name']}")
    for event in form["events"]:
        check(dense(event["title"]) in everything and dense(event["title"]) not in text, "the event in spite of --without")
    check("£" in everything and "£" not in text + scope, "costs in spite of --without costs")


def main():
    with tempfile.TemporaryDirectory() as name:
        work = pathlib.Path(name)
        book, out = work / "house.lathbook", work / "out"
        call(LATHBOOK, "demo", book)
        form = json.loads(call(LATHBOOK, "export", book).stdout)
        made = papers(book, out)
        check(made.returncode == 0, f"papers: {made.stderr}")
        for pdf in sorted(out.glob("*.pdf")):
            text = sound(pdf)
            if pdf.name not in ("sample-labels.pdf", "warning-labels.pdf"):
                paged(pdf, text)
                nothing_alone(pdf)
            if pdf.name.startswith("brief-"):
                check(pages_of(pdf) <= 2, f"{pdf.name} has {pages_of(pdf)} pages")
                check("Signature" in text and "If something else turns up" in text, f"{pdf.name} lacks a part")
        register(out / "register.pdf", form["materials"], form["rooms"])
        hatches(out / "register.pdf")
        warning_geometry(out / "warning-labels.pdf")
        answered = {result["sample"] for result in form["results"]}
        codes(out / "sample-labels.pdf", [s["id"] for s in form["samples"] if s["id"] not in answered], work)
        label_text = call("pdftotext", out / "sample-labels.pdf", "-").stdout
        for person in form["people"] + form["parties"]:
            check(person["name"] not in label_text, f"a label names {person['name']}")
        letter = work / "letter"
        check(papers(book, letter, "--paper", "letter").returncode == 0, "no papers on Letter")
        for pdf in sorted(letter.glob("*.pdf")):
            sound(pdf)
            if pdf.name not in ("sample-labels.pdf", "warning-labels.pdf"):
                nothing_alone(pdf)
            check("612 x 792" in call("pdfinfo", pdf).stdout, f"{pdf.name} is not Letter")
        for pdf in letter.glob("brief-*.pdf"):
            check(pages_of(pdf) <= 2, f"{pdf.name} on Letter has {pages_of(pdf)} pages")
        papers(book, work / "again")
        check(digests(out) == digests(work / "again"), "the same book and day give other bytes")
        faults(work, book, out)
        long_names(work, book)
        calendar_entries(out / "calendar.ics", form)
        tables(out / "tables", form)
        quotes(out, form)
        exposure(work, book, out, form)
        photos(work, book)
        formulas(work, book)
        left_out(work, book, form)
    print("\n".join(failures) if failures else "every paper reads back")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
