#!/usr/bin/env python3
"""Fails when an include points up the picture in docs/architecture.md, or sideways where it may not.

The order below is the picture from bottom to top. A calculation may not include another calculation; the joining and
outer layers may include anything below them. The compiler enforces what each CMakeLists.txt declares; this test makes
sure that nobody declares too much.
"""
import pathlib
import re
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
LAYERS = [
    ["reason"],
    ["schema", "assets", "photo"],
    ["phone"],
    ["book"],
    ["catalogue"],
    ["belief"],  # the tree of look-alikes, shared by evidence and sampling
    ["fabric", "evidence", "sampling", "assess", "law", "air", "dose", "waste", "timeline", "clearance"],
    ["check", "event"],
    ["store", "papers", "calc", "laboratory"],
    ["service"],
    ["http", "press"],
    ["cli"],
]
LEVEL = {module: level for level, modules in enumerate(LAYERS) for module in modules}
OUTER = {"store": {"reason", "schema", "assets"}, "phone": {"reason", "schema"}}  # files know nothing of what a record means


def faults():
    for path in sorted((ROOT / "src").rglob("*")):
        if path.suffix not in (".h", ".cpp"):
            continue
        module = path.relative_to(ROOT / "src").parts[0]
        if module == "testing":
            continue
        if module not in LEVEL:
            yield f"{module}: a folder that is not in the picture"
            continue
        test = path.name.endswith("_test.cpp")
        for target in re.findall(r'^#include "([a-z_]+)/', path.read_text(), re.M):
            if target == module or (target == "testing" and test):
                continue
            if target not in LEVEL:
                yield f"{path.relative_to(ROOT)} includes {target}/, which is not in the picture"
            elif not test and LEVEL[target] >= LEVEL[module]:
                yield f"{path.relative_to(ROOT)} includes {target}/, which is not below {module}/"
            elif module in OUTER and not test and target not in OUTER[module]:
                yield f"{path.relative_to(ROOT)} includes {target}/: {module} may only lean on {', '.join(sorted(OUTER[module]))}"


if __name__ == "__main__":
    found = list(faults())
    print("\n".join(found) if found else "every include points down")
    sys.exit(1 if found else 0)
