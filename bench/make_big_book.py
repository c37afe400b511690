#!/usr/bin/python3
"""Writes a large invented book in the open JSON form: make_big_book.py MATERIALS JOBS [SEED] > big.json

Rooms lie on a grid of 4 m squares, 20 materials to a room, storeys of 100 rooms on top of one another, so that walls,
floors and ceilings have something behind them. One material in ten has been sampled, half of the samples are back.
"""
import datetime
import json
import math
import random
import sys

FAMILIES = ["insulating-board", "cement-profiled-sheet", "cement-flat-sheet", "textured-coating", "pipe-lagging",
            "boiler-insulation", "loose-fill", "millboard", "rope-seal", "thermoplastic-tile", "vinyl-tile",
            "bitumen-adhesive", "mastic-putty", "bakelite", "plain-masonry"]
TASKS = ["drill", "fix-through", "saw", "cut", "unscrew", "scrape", "sand", "strip", "open-up"]
FACES = ["floor", "ceiling", "wall-1", "wall-2", "wall-3", "wall-4"]
MATERIALS_A_ROOM = 20
ROOMS_A_ROW = 10
SIDE_M = 4.0
STOREY_M = 2.4


def point(draw, base, high):
    return {"point": [round(base[0] + draw.uniform(0.2, 3.8), 3), round(base[1] + draw.uniform(0.2, high - 0.2), 3)]}


def box(draw, base, high):
    u, v = base[0] + draw.uniform(0.1, 2.5), base[1] + draw.uniform(0.1, high - 1.3)
    w, h = draw.uniform(0.3, 1.2), draw.uniform(0.3, 1.1)
    return {"outline": [[round(x, 3), round(y, 3)] for x, y in ((u, v), (u + w, v), (u + w, v + h), (u, v + h))]}


def place(draw, rooms, room, shape):
    """Where something lies. Floors and ceilings are drawn in the plan's coordinates, walls in their own."""
    face = draw.choice(FACES)
    flat = face in ("floor", "ceiling")
    shaped = shape(draw, rooms[room]["outline"][0] if flat else [0, 0], SIDE_M if flat else STOREY_M)
    return {"room": rooms[room]["id"], "face": face, "shape": shaped}


def book(materials, jobs, seed):
    draw = random.Random(seed)
    count = max(1, math.ceil(materials / MATERIALS_A_ROOM))
    storeys = [{"id": f"L{i + 1}", "name": f"Floor {i}", "floor_m": round(i * (STOREY_M + 0.25), 3), "height_m": STOREY_M}
               for i in range(math.ceil(count / ROOMS_A_ROW**2))]
    rooms = []
    for i in range(count):
        x, y = i % ROOMS_A_ROW * SIDE_M, i // ROOMS_A_ROW % ROOMS_A_ROW * SIDE_M
        rooms.append({"id": f"R{i + 1}", "name": f"Room {i + 1}", "storey": f"L{i // ROOMS_A_ROW**2 + 1}",
                      "phase": f"PH{i % 3 + 1}",
                      "outline": [[x, y], [x + SIDE_M, y], [x + SIDE_M, y + SIDE_M], [x, y + SIDE_M]]})
    groups = [{"id": f"G{i + 1}", "name": f"Look-alikes {i + 1}"} for i in range(max(1, materials // 25))]
    pieces = []
    for i in range(materials):
        piece = {"id": f"M{i + 1}", "name": f"Piece {i + 1} of the generated house", "family": draw.choice(FAMILIES),
                 **place(draw, rooms, i // MATERIALS_A_ROOM, box),
                 "extent": {"amount": round(draw.uniform(0.5, 20), 1), "unit": "m2"},
                 "thickness_mm": draw.choice([3, 6, 9, 12]), "damage": draw.choice(["none", "low", "medium"])}
        if draw.random() < 0.5:
            start = draw.randint(1930, 1995)
            piece["years"] = {"from": start, "to": start + draw.randint(0, 10)}
        if draw.random() < 0.4:
            piece["group"] = draw.choice(groups)["id"]
            piece["alike"] = draw.choice(["same job and look", "same look", "same kind"])
        if draw.random() < 0.3:
            piece["notes"] = "Seen from the ladder; painted; a little chipped at the edge by the door."
        pieces.append(piece)
    samples, results = [], []
    for i in range(0, materials, 10):
        samples.append({"id": f"S{len(samples) + 1}", "material": f"M{i + 1}", "label": f"Sample of M{i + 1}",
                        "taken_on": "2026-03-02"})
        if draw.random() < 0.5:
            found = draw.random() < 0.4
            results.append({"id": f"LR{len(results) + 1}", "sample": samples[-1]["id"], "found": found,
                            "reported_on": "2026-03-20", **({"fibres": ["chrysotile"]} if found else {})})
    work = []
    for i in range(jobs):
        room = draw.randrange(count)
        day = datetime.date(2026, 6, 1) + datetime.timedelta(days=draw.randrange(1000))
        cuts = [{"task": draw.choice(TASKS), **place(draw, rooms, room, draw.choice([point, box])),
                 "diameter_mm": 8, "minutes": draw.choice([10, 20, 45])} for _ in range(draw.randint(1, 3))]
        work.append({"id": f"J{i + 1}", "title": f"Planned work {i + 1}", "wanted_on": day.isoformat(),
                     "by": draw.choice(["householder", "trade"]), "cuts": cuts, "cost_plain": 5000,
                     "cost_elsewhere": 9000})
    return {"format": "lathbook-book", "version": 1,
            "about": {"title": f"Generated house: {materials} materials, {jobs} jobs", "test_fixed": 1500, "test_each": 2800},
            "phases": [{"id": "PH1", "name": "Built", "years": {"from": 1953, "to": 1955}},
                       {"id": "PH2", "name": "Extended", "years": {"from": 1971, "to": 1971}},
                       {"id": "PH3", "name": "Refitted", "years": {"from": 2004, "to": 2004}}],
            "storeys": storeys, "rooms": rooms, "groups": groups, "materials": pieces, "samples": samples,
            "results": results, "jobs": work}


if __name__ == "__main__":
    numbers = [int(word) for word in sys.argv[1:]]
    if len(numbers) not in (2, 3):
        sys.exit(__doc__)
    json.dump(book(numbers[0], numbers[1], numbers[2] if len(numbers) == 3 else 1), sys.stdout)
