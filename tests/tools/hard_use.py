#!/usr/bin/env python3
"""What an edit is worth once it is answered: programs killed at any moment, and many hands on one book.

hard_use.py LATHBOOK [--kills N] [--edits N] [--seed S]

Kills: N times by command and N times through the served page, a program that writes into a book is ended by SIGKILL at a
random moment of its work. After each the book opens, passes `verify`, and holds every edit that was answered; one that
was not answered is in it whole or not at all.

Hands: two programs serve one book to two pages each, while a third adds items by command; N edits at random, each made
on what its page last read. Every counter ends at the number of its answered edits, every item added is there, and an edit
made on something stale was refused by 409 and not written.
"""
import argparse
import json
import pathlib
import random
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time

from served import Page, Refused

faults = []


def fault(words):
    faults.append(words)
    print("FAULT", words, flush=True)


def run(lathbook, *words):
    return subprocess.run([lathbook, *map(str, words)], capture_output=True, text=True, check=False)


def notes(book, item):
    """The notes of an item, read past the program."""
    link = sqlite3.connect(book)
    row = link.execute("SELECT body ->> 'notes' FROM records WHERE id = ?", (item,)).fetchone()
    link.close()
    return row[0] if row else None


def after_a_kill(lathbook, book, what):
    sound = run(lathbook, "verify", book)
    if sound.returncode != 0:
        fault(f"{what}: {sound.stdout}{sound.stderr}")


def kill_commands(lathbook, book, times, dice):
    """One edit a program; the number in the notes says which was written last."""
    run(lathbook, "set", "M2", "notes=0", book)
    written, killed = 0, 0
    usual_s = 0.0
    for number in range(1, times + 1):
        start = time.perf_counter()
        program = subprocess.Popen([lathbook, "set", "M2", f"notes={number}", book], stdout=subprocess.DEVNULL)
        if number % 4 == 1:  # one in four comes to its end, and tells how long one takes by now
            program.wait()
            usual_s = time.perf_counter() - start
        else:
            try:
                program.wait(timeout=dice.uniform(0, 1.5) * usual_s)
            except subprocess.TimeoutExpired:
                program.kill()
        answered = program.wait() == 0
        killed += 0 if answered else 1
        after_a_kill(lathbook, book, f"command {number}")
        there = int(notes(book, "M2"))
        if there != number and (answered or there != written):
            fault(f"command {number}, {'answered' if answered else 'killed'}: {there} is in the book, {written} before")
        written = there
    if killed == 0:
        fault(f"of {times} commands none was killed: the moments say nothing")
    print(f"{times} commands, {killed} of them killed: every answered edit is there")


def kill_pages(lathbook, book, times, dice):
    """Edits one after another, and the end in the middle of them."""
    number = 0
    answered_ever = 0
    for session in range(times):
        page = Page(lathbook, book)
        revision = page.ask("/api/book")["revision"]
        answered = None
        killer = threading.Timer(dice.uniform(0.0, 0.25), page.server.kill)
        killer.start()
        try:
            while True:
                number += 1
                revision = page.ask("/api/set", {"revision": revision, "what": "M3", "typed": [f"notes={number}"]})["revision"]
                answered = number
        except Refused as refused:
            fault(f"session {session}: {refused}")
        except (OSError, ValueError):
            pass  # the link broke: that was the end
        except Exception as broken:  # noqa: BLE001 – an answer cut short comes as one of many kinds
            if "http.client" not in type(broken).__module__:
                raise
        killer.join()
        page.kill()
        after_a_kill(lathbook, book, f"session {session}")
        there = notes(book, "M3")
        if answered is not None:
            answered_ever += 1
            if there not in (str(answered), str(answered + 1)):
                fault(f"session {session}: {there} is in the book, {answered} was answered")
    if answered_ever == 0:
        fault("no session got as far as an answer")
    print(f"{times} sessions through the page, each killed: {number} edits, every answered one is there")


class Hand(threading.Thread):
    """One page open on the book. It edits what it has read, and reads again after each edit and each refusal."""

    def __init__(self, page, items, edits, seed):
        super().__init__()
        self.page, self.items, self.edits = page, items, edits
        self.dice = random.Random(seed)
        self.answered = dict.fromkeys(items, 0)
        self.clashes = 0
        self.broken = None

    def read(self):
        book = self.page.ask("/api/book")
        counts = {one["id"]: int(one.get("notes", "0")) for one in book["book"]["materials"] if one["id"] in self.items}
        return book["revision"], counts

    def run(self):
        try:
            revision, counts = self.read()
            for _ in range(self.edits):
                item = self.dice.choice(self.items)
                # Now and then the person looks away, and what they see grows old.
                if self.dice.random() < 0.1:
                    time.sleep(self.dice.uniform(0, 0.05))
                wanted = {"revision": revision, "what": item, "typed": [f"notes={counts[item] + 1}"]}
                try:
                    self.page.ask("/api/set", wanted)
                    self.answered[item] += 1
                except Refused as refused:
                    if refused.status != 409:
                        raise
                    self.clashes += 1
                revision, counts = self.read()
        except Exception as broken:  # noqa: BLE001 – told by whoever waits for the thread
            self.broken = broken


def many_hands(lathbook, book, edits, seed):
    items = ["M5", "M6", "M7"]
    for item in items:
        run(lathbook, "set", item, "notes=0", book)
    pages = [Page(lathbook, book), Page(lathbook, book)]
    hands = [Hand(pages[i % 2], items, -(-edits // 4), seed + i) for i in range(4)]
    for hand in hands:
        hand.start()
    added = set()
    for number in range(edits // 5):
        if not any(hand.is_alive() for hand in hands):
            break
        done = run(lathbook, "add", "person", f"name=Visitor {number}", "--json", book)
        if done.returncode == 0:
            added.add(json.loads(done.stdout)["changes"][0]["id"])
        elif "another program" not in done.stderr:
            fault(f"add by command: {done.stderr}")
    for hand in hands:
        hand.join()
        if hand.broken:
            fault(f"a page: {hand.broken!r}")
    for page in pages:
        page.close()
    after_a_kill(lathbook, book, "many hands")
    for item in items:
        answered = sum(hand.answered[item] for hand in hands)
        if int(notes(book, item)) != answered:
            fault(f"{item}: {answered} edits were answered, {notes(book, item)} are in the book")
    link = sqlite3.connect(book)
    there = {row[0] for row in link.execute("SELECT id FROM records WHERE kind = 'person'")}
    link.close()
    if not added <= there:
        fault(f"added by command and gone: {added - there}")
    answered = sum(sum(hand.answered.values()) for hand in hands)
    clashes = sum(hand.clashes for hand in hands)
    if clashes == 0:
        fault("no two edits ever clashed: nothing was tried")
    print(f"{answered + clashes + len(added)} edits by four pages of two programs and by command: {clashes} clashes told, none lost")


def main():
    asked = argparse.ArgumentParser()
    asked.add_argument("lathbook")
    asked.add_argument("--kills", type=int, default=24)
    asked.add_argument("--edits", type=int, default=400)
    asked.add_argument("--seed", type=int, default=1)
    asked = asked.parse_args()
    dice = random.Random(asked.seed)
    with tempfile.TemporaryDirectory() as folder:
        book = pathlib.Path(folder) / "house.lathbook"
        run(asked.lathbook, "demo", book).check_returncode()
        kill_commands(asked.lathbook, book, asked.kills, dice)
        kill_pages(asked.lathbook, book, asked.kills, dice)
        many_hands(asked.lathbook, book, asked.edits, asked.seed)
        if sorted(one.name for one in pathlib.Path(folder).iterdir()) != ["house.lathbook"]:
            fault(f"left behind: {list(pathlib.Path(folder).iterdir())}")
    sys.exit(1 if faults else 0)


main()
