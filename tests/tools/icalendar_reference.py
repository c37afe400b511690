#!/usr/bin/python3
"""Reads what lathbook's calendar writer wrote with an independent reader, and compares every entry.

usage: icalendar_reference.py PROGRAM   (PROGRAM prints a calendar; its entries are stated below)
"""
import datetime
import subprocess
import sys

import icalendar

EXPECTED = {
    "J3@book-1": ("Rewire; the hall, mostly", "Line one\nline two \\ three", (2025, 3, 1), (2025, 3, 4), [14, 1]),
    "look-again-M7@book-1": ("Look again at the garage roof – édgès, corners and every fixing along the whole north side of it", "", (2026, 1, 31), (2026, 2, 1), [7]),
    "licence-P2@book-1": ("Licence runs out", "x" * 400, (2028, 2, 29), (2028, 3, 1), []),
}

raw = subprocess.run([sys.argv[1]], check=True, capture_output=True).stdout
for line in raw.split(b"\r\n"):
    assert len(line) <= 75, line
    assert b"\n" not in line and b"\r" not in line, line
calendar = icalendar.Calendar.from_ical(raw)
assert calendar["VERSION"] == "2.0" and "PRODID" in calendar
seen = set()
for event in calendar.walk("VEVENT"):
    assert not event.errors, event.errors
    summary, description, first, end, reminders = EXPECTED[str(event["UID"])]
    seen.add(str(event["UID"]))
    assert str(event["SUMMARY"]) == summary, event["SUMMARY"]
    assert str(event.get("DESCRIPTION", "")) == description
    assert event.decoded("DTSTART") == datetime.date(*first)
    assert event.decoded("DTEND") == datetime.date(*end)
    assert event.decoded("DTSTAMP") == datetime.datetime(2025, 1, 1, 12, tzinfo=datetime.timezone.utc)
    found = [alarm.decoded("TRIGGER") for alarm in event.walk("VALARM")]
    assert found == [datetime.timedelta(days=-days) for days in reminders], found
assert seen == set(EXPECTED), seen
print(f"{len(seen)} entries read back")
