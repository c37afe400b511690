#!/usr/bin/env python3
"""Every test that docs/security.md names as showing something is there. security_page.py BUILD_FOLDER

A name stands for the test of that name and for those that go on from it after a dot or a slash; one that ends in a
letter as `store.FaultDisk` also for a suite run with several values (`store.Fault/FaultDisk.…`).
"""
import json
import pathlib
import re
import subprocess
import sys

page = pathlib.Path(__file__).parents[2] / "docs" / "security.md"
listed = subprocess.run(["ctest", "--show-only=json-v1"], cwd=sys.argv[1], capture_output=True, text=True, check=True)
tests = [one["name"] for one in json.loads(listed.stdout)["tests"]]
# The last column of each table row.
rows = [line.split("|")[-2] for line in page.read_text().splitlines() if line.startswith("|") and "---" not in line]
named = [name for row in rows for name in re.findall(r"`([^`]+)`", row)]
missing = []
for name in named:
    module, _, rest = name.partition(".")
    form = re.compile(re.escape(module) + (r"\.(\w+/)?" + re.escape(rest) if rest else "") + r"($|[./])")
    if not any(form.match(test) for test in tests):
        missing.append(name)
if len(named) < 30:
    missing.append(f"only {len(named)} tests are named")
print("\n".join(f"docs/security.md names {name}, which is no test" for name in missing) or f"{len(named)} tests named, all there")
sys.exit(1 if missing else 0)
