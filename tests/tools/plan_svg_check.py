#!/usr/bin/python3
"""plan_svg_check.py PROGRAM: `lathbook show plan --svg` on the demo house, with a run that is offered another route, is
well-formed XML and holds every room, material, cut, hatch of the key, scale bar and hole of the route."""
import json
import pathlib
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as tree

SVG = "{http://www.w3.org/2000/svg}"


def main():
    program = str(pathlib.Path(sys.argv[1]).resolve())
    with tempfile.TemporaryDirectory() as folder:
        def run(*words, allowed=(0,)):
            done = subprocess.run([program, *words], cwd=folder, capture_output=True, text=True, check=False)
            if done.returncode not in allowed:
                sys.exit(f"lathbook {' '.join(words)}: exit {done.returncode}\n{done.stderr}")
            return done.stdout

        run("demo", "house.lathbook")
        run("set", "R9", "name=Back <bedroom> & \"store\"")
        run("add", "job", "title=Cable", "by=trade")
        run("add", "J8/cuts", "task=grind", "room=R10", "face=wall-3", "shape=line 1.5,0.7 0,0.7 wide 0.025")
        book = json.loads(run("export", "house.lathbook"))
        run("show", "plan", "--svg", "all.svg")
        run("show", "plan", "--job", "J8", "--svg", "one.svg")
        sheets = {name: tree.parse(pathlib.Path(folder, name)).getroot() for name in ("all.svg", "one.svg")}

    faults = []
    for name, root in sheets.items():
        words = [text.text or "" for text in root.iter(SVG + "text")]
        drawn = {word.split(" ")[0] for word in words}
        titles = [title.text or "" for title in root.iter(SVG + "title")]
        patterns = {one.get("id") for one in root.iter(SVG + "pattern")}
        fills = {m for one in root.iter() for m in re.findall(r"url\(#(.*?)\)", one.get("fill", ""))}

        def need(what, there):
            if not there:
                faults.append(f"{name}: no {what}")

        need("size", root.get("viewBox") and float(root.get("width")) > 0)
        for room in book["rooms"]:
            need(f"room {room['id']}", room["id"] in drawn)
            need(f"name of room {room['id']}", f"{room['id']} {room['name']}" in titles)
        for material in book["materials"]:
            need(f"material {material['id']}", words.count(material["id"]) >= 2)  # in the drawing and in its list
        for job in book["jobs"]:
            for number in range(1, len(job.get("cuts", [])) + 1):
                wanted = name == "all.svg" or job["id"] == "J8"
                need(f"cut {job['id']}/{number}" if wanted else "lack of other jobs", (words.count(f"{job['id']}/{number}") >= 2) == wanted)
        for standing in ("presumed", "strongly presumed", "identified", "no asbestos detected", "proven later than the ban"):
            need(f"key of {standing}", standing in words)
        need("scale bar", "2 m, in steps of 1 m" in words)
        need("hatch for each fill", fills and fills <= patterns)
        need("route" if name == "one.svg" else "sheet without routes", ("Route 1" in words) == (name == "one.svg"))
    print("\n".join(faults) or f"{len(sheets)} sheets hold everything")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
