#!/usr/bin/python3
"""Holds air counts against SciPy and timelines against NumPy's business days and a longest path of its own.

usage: clearance_timeline_reference.py CALC_DRIVER
"""
import datetime
import json
import math
import random
import subprocess
import sys

import numpy
import scipy.stats


def calc(topic, inputs):
    done = subprocess.run([sys.argv[1], topic], input=json.dumps(inputs), capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


rng = random.Random(20)
counts = []
for _ in range(200):
    one = {"fibres": rng.randint(0, 400) / 2, "fields": rng.randint(20, 200), "litres": rng.uniform(40, 1200), "filter_mm": rng.uniform(20.5, 25)}
    one["fibres"] = min(one["fibres"], 9.5 * one["fields"])
    counts.append(one)
apart = 0
for given, got in zip(counts, calc("air-count", counts)):
    per_fibre = 1000 * given["filter_mm"] ** 2 / (given["litres"] * given["fields"] * 100**2)
    x = given["fibres"]
    assert math.isclose(got["f_per_ml"], x * per_fibre, rel_tol=1e-12)
    low = scipy.stats.chi2.ppf(0.025, 2 * x) / 2 if x > 0 else 0
    high = scipy.stats.chi2.ppf(0.975, 2 * x + 2) / 2
    assert math.isclose(got["poisson_low"], low * per_fibre, rel_tol=1e-9, abs_tol=1e-15), (given, got)
    assert math.isclose(got["poisson_high"], high * per_fibre, rel_tol=1e-9)
    apart = max(apart, abs(got["poisson_high"] / (high * per_fibre) - 1), abs(got["poisson_low"] / (low * per_fibre) - 1) if low > 0 else 0)

plans, checks = [], 0
for _ in range(60):
    start = datetime.date(2025, 1, 1) + datetime.timedelta(days=rng.randint(0, 400))
    holidays = sorted({start + datetime.timedelta(days=rng.randint(0, 90)) for _ in range(6)})
    activities = []
    for i in range(rng.randint(1, 14)):
        after = [f"a{j}" for j in range(i) if rng.random() < 0.25]
        activities.append({"id": f"a{i}", "days": rng.randint(0, 9), "after": after, "lead_days": rng.choice([0, 0, 0, 5, 10])})
    plans.append({"start": start.isoformat(), "calendar": "working", "holidays": [day.isoformat() for day in holidays], "activities": activities})
for given, got in zip(plans, calc("timeline", plans)):
    day = lambda n: str(numpy.busday_offset(given["start"], n, roll="forward", holidays=given["holidays"]))
    begin, end = {}, {}
    for one in given["activities"]:
        begin[one["id"]] = max([end[j] for j in one["after"]], default=0) + one["lead_days"]
        end[one["id"]] = begin[one["id"]] + one["days"]
    last = max(end.values())
    late = {}
    for one in reversed(given["activities"]):
        follow = [late[other["id"]] - other["lead_days"] for other in given["activities"] if one["id"] in other["after"]]
        late[one["id"]] = min(follow, default=last) - one["days"]
    for one in got["activities"]:
        assert one["start"] == day(begin[one["id"]]), (given, one)
        assert one["finish"] == day(end[one["id"]]), (given, one)
        assert one["slack_days"] == late[one["id"]] - begin[one["id"]], (given, one)
        checks += 1
    assert got["finish"] == day(last)
print(f"{len(counts)} counts and {checks} activities agree")
print(f"agreement_clearance_scipy {len(counts)} {apart:.2g} {apart / 1e-9:.2g}")
print(f"agreement_timeline_numpy {checks} 0 0")
