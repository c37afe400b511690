#!/usr/bin/env python3
"""Eight clients on one book at the same time, four windows of the laptop and four phones over TLS.

many_hands.py LATHBOOK [--seconds S]

Each reads and edits as fast as it is answered: it counts a number in some material's notes up by one, on the revision it
read; told of a clash it reads again. Every fifth edit is sent twice under its key, as after a lost answer. Ends with 1
when anything but a clash was answered with an error, when a count is not the number of edits that were taken (a lost or
a doubled update), or when the book does not verify.
"""
import argparse
import http.client
import json
import os
import pathlib
import random
import re
import ssl
import subprocess
import sys
import tempfile
import threading
import time
import urllib.parse


class Door:
    """The program, serving one book to this machine and to phones."""

    def __init__(self, lathbook, folder):
        self.lathbook, self.book = lathbook, folder / "house.lathbook"
        self.environment = {**os.environ, "XDG_CONFIG_HOME": str(folder / "config")}
        subprocess.run([lathbook, "demo", str(self.book)], check=True, capture_output=True)
        words = [lathbook, "serve", str(self.book), "--no-open", "--phone"]
        self.server = subprocess.Popen(words, stdout=subprocess.PIPE, text=True, env=self.environment)
        said = ""
        while "Ctrl-C" not in said:
            line = self.server.stdout.readline()
            if not line:
                sys.exit(f"the server ended: {said}")
            said += line
        self.laptop = urllib.parse.urlsplit(re.search(r"http://\S+", said)[0])
        self.phone = urllib.parse.urlsplit(re.search(r"https://\S+", said)[0])
        authority = (folder / "config/lathbook/phone/authority.crt").read_text()
        self.trust = ssl.create_default_context(cadata=authority)  # addresses and constraints are checked

    def close(self):
        self.server.terminate()
        self.server.wait()


class Client:
    def __init__(self, door, by_phone):
        self.door, self.by_phone = door, by_phone
        self.place = door.phone if by_phone else door.laptop
        self.cookie = ""
        self.answers = 0
        if not by_phone:
            self.cookie = self.send("GET", f"/?{door.laptop.query}")[1]["Set-Cookie"].split(";")[0]

    def send(self, method, path, body=None, more=None, form=False):
        if self.by_phone:
            link = http.client.HTTPSConnection(self.place.hostname, self.place.port, timeout=60, context=self.door.trust)
        else:
            link = http.client.HTTPConnection(self.place.hostname, self.place.port, timeout=60)
        kind = "application/x-www-form-urlencoded" if form else "application/json"
        headers = {"Cookie": self.cookie, "Host": self.place.netloc, **(more or {})}
        if method == "POST":
            headers |= {"Origin": f"{self.place.scheme}://{self.place.netloc}", "Content-Type": kind}
        link.request(method, path, body, headers)
        answer = link.getresponse()
        text = answer.read()
        link.close()
        self.answers += 1
        return answer.status, dict(answer.getheaders()), text

    def pair(self, code):
        status, headers, text = self.send("POST", "/pair", urllib.parse.urlencode({"code": code, "name": "A hand"}), form=True)
        if status != 303:
            sys.exit(f"not paired: {status} {text[:300]}")
        self.cookie = headers["Set-Cookie"].split(";")[0]


def notes_of(book, material):
    notes = next(one for one in book["book"]["materials"] if one["id"] == material).get("notes", "")
    return int(notes) if notes.isdigit() else 0


def work(client, dice, materials, until, taken, clashes, errors):
    n = 0
    while time.monotonic() < until:
        try:
            status, _, text = client.send("GET", "/api/book")
            if status != 200:
                raise RuntimeError(f"book: {status} {text[:300]}")
            book = json.loads(text)
            material = dice.choice(materials)
            body = json.dumps({"revision": book["revision"], "what": material,
                               "fields": {"notes": str(notes_of(book, material) + 1)}})
            key = {"Idempotency-Key": f'"{book["book_id"]}-{dice.getrandbits(128):032x}"'}
            n += 1
            answers = [client.send("POST", "/api/set", body, key) for _ in range(2 if n % 5 == 0 else 1)]
            statuses = [answer[0] for answer in answers]
            if statuses[0] == 200:
                taken.append(material)
                if answers[-1][2] != answers[0][2]:
                    raise RuntimeError(f"sent again it was answered {answers[-1][2][:300]} after {answers[0][2][:300]}")
            elif statuses[0] == 409:
                clashes.append(material)
                # Sent again it may not be taken by stealth: what it was made on has moved.
                if any(status != 409 for status in statuses):
                    raise RuntimeError(f"refused, then {statuses}")
            else:
                raise RuntimeError(f"set: {statuses} {answers[0][2][:300]}")
        except (OSError, http.client.HTTPException, RuntimeError) as error:
            errors.append(repr(error))
            return


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("lathbook")
    arguments.add_argument("--seconds", type=float, default=4)
    asked = arguments.parse_args()
    with tempfile.TemporaryDirectory() as name:
        door = Door(asked.lathbook, pathlib.Path(name))
        try:
            clients = [Client(door, by_phone=i % 2 == 1) for i in range(8)]
            for client in clients:
                if client.by_phone:
                    client.pair(json.loads(clients[0].send("POST", "/api/pairing", "{}")[2])["code"])
            materials = ["M1", "M2", "M3"]  # few, so that they meet
            taken, clashes, errors = [], [], []
            until = time.monotonic() + asked.seconds
            threads = [threading.Thread(target=work, args=(client, random.Random(i), materials, until, taken, clashes, errors))
                       for i, client in enumerate(clients)]
            for thread in threads:
                thread.start()
            for thread in threads:
                thread.join()
            book = json.loads(clients[0].send("GET", "/api/book")[2])
        finally:
            door.close()
        for material in materials:
            if notes_of(book, material) != taken.count(material):
                errors.append(f"{material} says {notes_of(book, material)}, {taken.count(material)} edits of it were taken")
        if book["revision"] != 1 + len(taken):
            errors.append(f"the book is at {book['revision']} after {len(taken)} edits that were taken")
        if subprocess.run([asked.lathbook, "verify", str(door.book)], capture_output=True).returncode != 0:
            errors.append("the book does not verify")
        answers = sum(client.answers for client in clients)
        print(f"8 clients, {asked.seconds:g} s: {answers} answers, {len(taken)} edits taken, {len(clashes)} clashes told")
        if not taken or not clashes:
            errors.append("they did not meet: this shows nothing")
    print("\n".join(errors) or "nothing lost, nothing doubled, no error")
    return 1 if errors else 0


if __name__ == "__main__":
    sys.exit(main())
