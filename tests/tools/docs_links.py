#!/usr/bin/env python3
"""Every file and heading that a Markdown page of the repository links to is there, every picture of docs/ is shown,
and every page of a method says what it is checked against and what its limits are."""
import pathlib
import re
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
PAGES = [ROOT / "README.md", ROOT / "CONTRIBUTING.md", *sorted((ROOT / "docs").rglob("*.md"))]
LARGEST = 150_000  # bytes of a picture
faults, shown, followed = [], set(), 0


def anchors(page):
    """The names a reader's program gives to the headings of a page."""
    heads = re.findall(r"^#+ (.+)$", page.read_text(), re.M)
    return {re.sub(r"[^\w\- ]", "", head.lower()).strip().replace(" ", "-") for head in heads}


for page in PAGES:
    text = re.sub(r"```.*?```", "", page.read_text(), flags=re.S)
    for target in re.findall(r"\]\(([^)\s]+)\)", text):
        if re.match(r"[a-z]+:", target):
            continue
        followed += 1
        name, _, anchor = target.partition("#")
        path = (page.parent / name).resolve() if name else page
        if not path.exists():
            faults.append(f"{page.relative_to(ROOT)} points at {target}, which is not there")
        elif anchor and anchor not in anchors(path):
            faults.append(f"{page.relative_to(ROOT)} points at {target}, which has no such heading")
        shown.add(path)
for picture in sorted((ROOT / "docs").rglob("*")):
    if picture.suffix in (".png", ".webp", ".svg"):
        if picture not in shown:
            faults.append(f"{picture.relative_to(ROOT)} is shown nowhere")
        if picture.stat().st_size > LARGEST:
            faults.append(f"{picture.relative_to(ROOT)} is larger than {LARGEST} bytes")
# A page of a method says what it is checked against and where it ends; those that hold no figures have the first from elsewhere.
for page in sorted((ROOT / "docs/methods").glob("*.md")):
    if page.stem in ("calibration", "symbols"):
        continue
    heads = re.findall(r"^## (.+)$", page.read_text(), re.M)
    for wanted in (r"(Checked|Held against|How (well )?it (agrees|is checked)|How, and how exact)", r"Limits"):
        if not any(re.match(wanted, head) for head in heads):
            faults.append(f"docs/methods/{page.name} has no section on {wanted}")
if followed < 30:
    faults.append(f"only {followed} links found")
print("\n".join(faults) or f"{followed} links lead somewhere")
sys.exit(1 if faults else 0)
