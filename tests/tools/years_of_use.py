#!/usr/bin/env python3
"""Two years of a house, and a minute of many hands, through the served page.

years_of_use.py LATHBOOK [--edits N] [--photos N] [--seconds S] [--rate R] [--json]

Makes the demo book, then through HTTP: N edits and N photos as a person would make them (a note, a look, a job moved, a
step taken back), telling how the file, the time to open it and the server's memory grow; then R requests a second for S
seconds, every answer looked at. Ends with 1 when an answer was refused, an edit is missing afterwards, the book does not
verify, or the server's memory still grew in the last half of the minute by more than 5 %. What a person reads goes to
standard error; --json puts the figures on standard output.
"""
import argparse
import base64
import concurrent.futures
import http.client
import io
import json
import pathlib
import random
import statistics
import subprocess
import sys
import tempfile
import threading
import time

import numpy as np
import PIL.Image
from served import Page

figures = {"years": []}


def tell(line):
    print(line, file=sys.stderr, flush=True)


def scene(random_numbers):
    """A picture of 3 Mpx with the grain of a real one, as pixels."""
    coarse = random_numbers.integers(0, 255, (12, 16, 3), dtype=np.uint8)
    image = np.asarray(PIL.Image.fromarray(coarse).resize((2048, 1536), PIL.Image.BICUBIC)).astype(np.int16)
    grain = random_numbers.normal(0, 6, (1536, 2048, 1)).astype(np.int16)
    return np.clip(image + grain, 0, 255).astype(np.uint8)


def photo(pixels, step):
    """The scene from a little further along, so that no two photos are the same."""
    out = io.BytesIO()
    PIL.Image.fromarray(np.roll(pixels, step, axis=1)).save(out, "JPEG", quality=85)
    return base64.b64encode(out.getvalue()).decode()


def opening_ms(lathbook, book):
    times = []
    for _ in range(9):
        start = time.perf_counter()
        subprocess.run([lathbook, "show", str(book)], check=True, capture_output=True)
        times.append((time.perf_counter() - start) * 1e3)
    return statistics.median(times)


def live(lathbook, book, edits, photos):
    """Edits and photos mixed; what is written last into each material's notes must be there afterwards."""
    page = Page(lathbook, book)
    dice = random.Random(5)
    scenes = [scene(np.random.default_rng(seed)) for seed in range(4)]
    form = page.ask("/api/book")["book"]
    materials = [one["id"] for one in form["materials"]]
    rooms = [one["id"] for one in form["rooms"]]
    revision = page.ask("/api/book")["revision"]
    said, taken_photos = {}, 0
    start = time.perf_counter()
    for step in range(edits + photos):
        if dice.random() < photos / (edits + photos) and taken_photos < photos:
            taken_photos += 1
            body = {"revision": revision, "material": dice.choice(materials), "title": f"photo {step}",
                    "base64": photo(scenes[step % 4], step)}
            revision = page.ask("/api/photo", body)["revision"]
        elif step % 10 == 7:
            page.ask("/api/undo", {"revision": revision})
            revision = page.ask("/api/redo", {"revision": page.ask("/api/book")["revision"]})["revision"]
        elif step % 10 == 3:
            body = {"revision": revision, "room": dice.choice(rooms), "families": ["insulating-board"], "answer": "cannot tell"}
            revision = page.ask("/api/look", body)["revision"]
        else:
            what = dice.choice(materials)
            said[what] = f"looked at in step {step}"
            revision = page.ask("/api/set", {"revision": revision, "what": what, "fields": {"notes": said[what]}})["revision"]
        if (step + 1) % max(1, (edits + photos) // 5) == 0:
            size = sum(one.stat().st_size for one in book.parent.glob(book.name + "*")) / 2**20
            said_so = {"steps": step + 1, "seconds": time.perf_counter() - start, "file_mb": size, "server_mb": page.memory_mb(),
                       "slowest_ms": page.slowest_s * 1e3}
            figures["years"].append(said_so)
            line = "{steps:6d} steps {seconds:6.1f} s   {file_mb:7.1f} MB   server {server_mb:5.0f} MB   slowest {slowest_ms:4.0f} ms"
            tell(line.format(**said_so))
    page.close()
    after = json.loads(subprocess.run([lathbook, "export", str(book)], check=True, capture_output=True).stdout)
    held = {one["id"]: one.get("notes") for one in after["materials"]}
    missing = [what for what, words in said.items() if held.get(what) != words]
    documents = len(after.get("documents", []))
    verified = subprocess.run([lathbook, "verify", str(book)], capture_output=True, text=True)
    figures["opens_ms"] = opening_ms(lathbook, book)
    figures["photos"] = taken_photos
    tell(f"opens and shows in {figures['opens_ms']:.0f} ms; {taken_photos} photos taken, {documents} in the book")
    wrong = []
    if missing:
        wrong.append(f"lost: {missing}")
    if documents != taken_photos:
        wrong.append(f"lost: {taken_photos - documents} photos")
    if verified.returncode != 0:
        wrong.append(f"verify: {verified.stdout}{verified.stderr}")
    return wrong


def many_hands(lathbook, book, seconds, rate):
    page = Page(lathbook, book)
    materials = [one["id"] for one in page.ask("/api/book")["book"]["materials"]]
    jobs = [one["job"] for one in page.ask("/api/book")["jobs"]]
    failed, times, memory = [], [], []
    lock = threading.Lock()
    start = time.perf_counter()

    def one(number):
        due = start + number / rate
        time.sleep(max(0.0, due - time.perf_counter()))
        kinds = ("/api/material/" + materials[number % len(materials)], "/api/check/" + jobs[number % len(jobs)], "/api/testing",
                 "/api/waste", "/api/walk/R4", "/api/timeline")
        began = time.perf_counter()
        try:
            if number % 50 == 0:
                page.ask("/api/set", {"revision": page.ask("/api/book")["revision"], "what": materials[number // 50 % len(materials)],
                                      "fields": {"notes": f"hand {number}"}})
            else:
                page.ask(kinds[number % len(kinds)])
        except (RuntimeError, OSError, http.client.HTTPException) as error:
            with lock:
                failed.append(str(error))
        with lock:
            times.append(time.perf_counter() - began)
            if number % rate == 0:
                memory.append(page.memory_mb())

    with concurrent.futures.ThreadPoolExecutor(32) as hands:
        list(hands.map(one, range(seconds * rate)))
    took = time.perf_counter() - start
    page.close()
    times.sort()
    half = memory[len(memory) // 2:]
    hands = {"requests": len(times), "a_second": len(times) / took, "failed": len(failed), "median_ms": times[len(times) // 2] * 1e3,
             "most_of_99_ms": times[int(len(times) * 0.99)] * 1e3, "server_mb": [memory[0], half[0], memory[-1]]}
    figures["hands"] = hands
    tell(f"{len(times)} requests in {took:.1f} s ({hands['a_second']:.0f} a second): {len(failed)} failed; median {hands['median_ms']:.1f} ms,"
         f" 99 % under {hands['most_of_99_ms']:.0f} ms; server {memory[0]:.0f} to {memory[-1]:.0f} MB")
    wrong = [f"failed: {failed[:3]}"] * bool(failed)
    if half and half[-1] > half[0] * 1.05:
        wrong.append(f"the server's memory still grows: {half[0]:.0f} to {half[-1]:.0f} MB")
    if len(times) / took < rate * 0.95:
        wrong.append(f"only {len(times) / took:.0f} requests a second")
    return wrong


def main():
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("lathbook")
    for name, value in (("edits", 5000), ("photos", 2000), ("seconds", 60), ("rate", 200)):
        words.add_argument(f"--{name}", type=int, default=value)
    words.add_argument("--json", action="store_true")
    asked = words.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        book = pathlib.Path(folder) / "house.lathbook"
        subprocess.run([asked.lathbook, "demo", str(book)], check=True, capture_output=True)
        wrong = live(asked.lathbook, book, asked.edits, asked.photos) + many_hands(asked.lathbook, book, asked.seconds, asked.rate)
    for line in wrong:
        tell(line)
    if asked.json:
        print(json.dumps(figures))
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
