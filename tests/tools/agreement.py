#!/usr/bin/env python3
"""How well each check of a method agrees, as the tests measure it: the tables in docs/methods/ between the markers
<!-- agreement --> and <!-- /agreement -->.

    agreement.py BUILD            fails when a page's figures are not what the tests measure now
    agreement.py BUILD --update   runs the tests and writes the tables

C++ tests tell through testing/agreement.h, the scripts in this folder by a line `agreement_ID CASES WORST USED`. A figure is
stale when the number of cases differs, or when the furthest apart differs by more than a factor of 2; below 1e-8, where
another compiler or processor rounds otherwise, by more than a factor of 30.
"""
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
BEGIN, END = "<!-- agreement: written by tests/tools/agreement.py -->", "<!-- /agreement -->"

# Page: (id, what it is held against, what the difference is in). No unit: the two sides are the same or the test fails.
PAGES = {
    "air": [
        ("air_purge", "minutes to clear a room, CDC 1994 table S3-1, as printed to the minute", "min"),
        ("air_settling", "settling speeds, slip and fall times after Hinds, and Timbrell's diameters, as printed", "of the value"),
        ("air_one_room", "one room with settling and a filter: closed form of level, integral and load", "of the value"),
        ("air_wide", "113-bit arithmetic, every component of random systems", "of the value"),
        ("air_stiff", "the same, with rates ten powers of ten apart", "of the value"),
        ("air_expm", "SciPy `expm`, random networks up to 40 zones: the furthest level, integral or load", "of the value"),
        ("air_lsoda", "SciPy LSODA at rtol 3e-14, likewise", "of the value"),
        ("air_balance", "fibres put in against fibres exhausted, filtered, wiped and left", "of what was put in"),
        ("air_quick", "the solver for many draws against the exact one", "of the largest amount"),
    ],
    "assess": [
        ("assess_material", "material scores: cells and bands of the table, and rows worked out from it", ""),
        ("assess_priority", "priority scores worked out by hand, under three ways of rounding", ""),
    ],
    "clearance": [
        ("clearance_niosh", "NIOSH 7400: limits, volume and density it prints", "of the value"),
        ("clearance_british_limit", "HSG247 7.132: 480 litres show 0.01 f/ml", "of the value"),
        ("clearance_poisson", "Poisson limits against the series summed term by term", "in probability"),
        ("clearance_scipy", "Poisson limits against SciPy's chi-squared quantiles, random counts", "of the value"),
    ],
    "dose": [
        ("dose_seen", "risks printed in a source that was read", "of the value"),
        ("dose_secondary", "risks read where another source restates them", "of the value"),
        ("dose_memory", "risks remembered, not read", "of the value"),
        ("dose_recomputed", "an independent computation of ours: a guard against change, not a published value", "of the value"),
    ],
    "evidence": [
        ("evidence_bayes", "Bayes results printed in textbooks", "in probability"),
        ("evidence_forests", "every hidden state of random forests of look-alikes, two and three states", "in probability"),
        ("evidence_hidden_states", "every hidden state, through the words of `calc presence`", "in probability"),
        ("evidence_beta_binomial", "chance of missing a patchy piece: the beta-binomial's closed form", "of the value"),
        ("evidence_sampler", "400,000 forward draws each by a second program in NumPy", "standard errors"),
        ("evidence_families", "families against the survey guide's product list", ""),
    ],
    "fabric": [
        ("fabric_overlays", "GEOS: area of overlays of random outlines with holes", "m²"),
        ("fabric_ceilings", "GEOS: what lies over a ceiling, three levels", "m²"),
        ("fabric_distances", "GEOS: distances of random points, chains and outlines", "m"),
        ("fabric_crossings", "GEOS: which random rings cross themselves", ""),
        ("fabric_touch_near", "a raster of 2 cm by brute force: near face", "m"),
        ("fabric_touch_floor", "the same through a floor", "m"),
        ("fabric_touch_wall", "the same through a wall at another level", "m"),
        ("fabric_route", "routes: relaxing every move on the grid until nothing changes", "in cost"),
        ("fabric_route_askew", "the same in houses out of square", "in cost"),
    ],
    "law": [("law_examples", "the regulator's examples of licensed, notifiable and non-licensed work", "")],
    "sampling": [
        ("sampling_textbook", "a textbook's worked examples of the value of information", "of the value"),
        ("sampling_every_set", "every set of tests × every result × every hidden state", "in cost"),
        ("sampling_every_policy", "recursion over every policy in rounds", "in cost"),
        ("sampling_program", "a second program that shares no code", "of the value"),
    ],
    "timeline": [
        ("timeline_printed", "starts, slacks and ends of printed critical-path examples", ""),
        ("timeline_longest_path", "every path of random networks, walked", ""),
        ("timeline_numpy", "NumPy's business days: start, finish and slack of each activity", ""),
        ("timeline_bundles", "every partition of removals into visits", "in cost"),
        ("timeline_triangle", "median and 90th percentile of a triangle in closed form, 20,000 draws", "days"),
    ],
    "waste": [
        ("waste_printed", "fewest bins, optimum as printed: Falkenauer's t60_00, four examples of a problem statement", ""),
        ("waste_turning", "does a rectangle go through: turning it in small steps", ""),
        ("waste_blocks", "fewest trips of thick blocks: every partition × every cut of the floor", ""),
        ("waste_sheets", "fewest trips of sheets: every partition", ""),
    ],
}
PROGRAMS = ["air", "assess", "belief", "catalogue", "clearance", "dose", "evidence", "fabric", "law", "sampling", "timeline", "waste"]
SCRIPTS = ["air_reference", "clearance_timeline_reference", "presence_reference", "test_choice_reference"]


def measured(build):
    """(cases, furthest apart, share of what is allowed) by id."""
    found = {}

    def take(name, words):
        if not name.startswith("agreement_"):
            return
        cases, worst, used = words.split()
        if name in found:
            sys.exit(f"{name} is told of twice")
        found[name.removeprefix("agreement_")] = (int(cases), float(worst), float(used))

    with tempfile.TemporaryDirectory() as folder:
        report = pathlib.Path(folder) / "report.json"
        for module in PROGRAMS:
            # Which tests tell of an agreement is in their source; the others need not run again.
            names = []
            for source in sorted((ROOT / "src" / module).glob("*_test.cpp")):
                tests = re.findall(r"^TEST\((\w+), (\w+)\) \{(.*?)^\}", source.read_text(), re.M | re.S)
                names += [f"{suite}.{name}" for suite, name, body in tests if "testing::Agreement" in body]
            done = subprocess.run([f"{build}/src/{module}/{module}_test", "--gtest_brief=1", f"--gtest_filter={':'.join(names)}", f"--gtest_output=json:{report}"],
                                  cwd=ROOT, capture_output=True, text=True, check=False)
            if done.returncode != 0:
                sys.exit(done.stdout + done.stderr)
            for suite in json.loads(report.read_text())["testsuites"]:
                for test in suite["testsuite"]:
                    for name, words in test.items():
                        take(name, str(words))
    for script in SCRIPTS:
        done = subprocess.run([sys.executable, ROOT / f"tests/tools/{script}.py", f"{build}/tests/calc_driver"], cwd=ROOT, capture_output=True, text=True, check=False)
        if done.returncode != 0:
            sys.exit(done.stdout + done.stderr)
        for line in done.stdout.splitlines():
            name, _, words = line.partition(" ")
            take(name, words)
    return found


def figure(value):
    if value == 0:
        return "0"
    return f"{value:.2g}" if 1e-3 <= value < 1e4 else f"{value:.0e}".replace("e-0", "e-").replace("e+0", "e+")


def row(entry, found):
    name, against, unit = entry
    cases, worst, used = found[name]
    if not unit or worst == 0:
        return f"| {against} | {cases:,} | all the same | |"
    share = f"{used:.0%}" if used >= 0.01 else "under 1 %"
    return f"| {against} | {cases:,} | {figure(worst)} {unit} | {share.replace('%', ' %').replace('  ', ' ')} |"


def table(page, found):
    head = ["| held against | cases | furthest apart | of what is allowed |", "|---|---|---|---|"]
    return head + [row(entry, found) for entry in PAGES[page]]


def stale(entry, line, found):
    """What is wrong with a line of a page, by the figures measured now; empty when nothing is."""
    now = row(entry, found)
    if line == now:
        return ""
    old, new = ([cell.strip() for cell in text.strip("|").split("|")] for text in (line, now))
    if len(old) != len(new) or old[:2] != new[:2]:
        return f"says\n  {line}\nmeasured\n  {now}"
    try:
        was, is_now = float(old[2].split()[0]), found[entry[0]][1]
    except ValueError:
        return f"says\n  {line}\nmeasured\n  {now}"
    factor = 30 if max(was, is_now) < 1e-8 else 2
    if min(was, is_now) * factor < max(was, is_now):
        return f"says\n  {line}\nmeasured\n  {now}"
    return ""


def main():
    build, update = os.path.abspath(sys.argv[1]), "--update" in sys.argv
    found = measured(build)
    known = {entry[0] for entries in PAGES.values() for entry in entries}
    faults = [f"no test tells of {name}" for name in sorted(known - found.keys())]
    faults += [f"no page has a place for {name}" for name in sorted(found.keys() - known)]
    if faults:
        sys.exit("\n".join(faults))
    for page, entries in PAGES.items():
        path = ROOT / f"docs/methods/{page}.md"
        lines = path.read_text().splitlines()
        if BEGIN not in lines or END not in lines:
            faults.append(f"{path.name} has no place for its agreement")
            continue
        first, last = lines.index(BEGIN) + 1, lines.index(END)
        if update:
            path.write_text("\n".join(lines[:first] + table(page, found) + lines[last:]) + "\n")
            continue
        if len(lines[first:last]) != len(entries) + 2:
            faults.append(f"{path.name} does not list the {len(entries)} checks there are")
            continue
        faults += [f"{path.name} {told}" for entry, line in zip(entries, lines[first + 2 : last]) if (told := stale(entry, line, found))]
    print("\n".join(faults) or f"{len(found)} checks in {len(PAGES)} pages are as measured")
    if faults:
        print("`tests/tools/agreement.py BUILD --update` writes them anew.")
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
