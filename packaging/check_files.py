#!/usr/bin/env python3
"""What is installed is what packaging/files.txt lists, and each of those files is sound by the word of its own tool.

    check_files.py BUILD             installs BUILD into an empty folder and looks at it
    check_files.py BUILD --update    writes files.txt, to be read as part of the change
    check_files.py --deb FILE.deb    the package holds the same files, and asks for what it should

Beyond the list: desktop-file-validate, mandoc, xmllint; each picture of an icon is of its size and shows its drawing
(rsvg-convert); every npm package of the page has a paragraph with its licence in `copyright`; the installed program finds
the programs it hands over to.
"""
import gzip
import io
import json
import os
import pathlib
import re
import stat
import subprocess
import sys
import tempfile

from PIL import Image, ImageChops, ImageStat

HERE = pathlib.Path(__file__).resolve().parent
LIST = HERE / "files.txt"
faults = []


def run(*words, **kw):
    return subprocess.run(words, capture_output=True, check=False, **kw)


def must(what, done):
    if done.returncode != 0 or done.stdout.strip() or done.stderr.strip():
        faults.append(f"{what}: {(done.stdout + done.stderr).decode()}")


def listed(paths):
    """Lines as in files.txt: x for what may be run, and the path below /usr."""
    return sorted(f"{'x' if runs else '-'} {path}" for path, runs in paths)


def compare(found):
    expected = LIST.read_text().splitlines()
    for line in sorted(set(expected) ^ set(found)):
        faults.append(f"{'installed but not in files.txt' if line in found else 'in files.txt but not installed'}: {line}")


def icons(usr):
    for drawing in sorted((usr / "share/icons/hicolor/scalable").rglob("*.svg")):
        must(drawing.name, run("xmllint", "--noout", drawing))
        shown = sorted((usr / "share/icons/hicolor").glob(f"[0-9]*/{drawing.parent.name}/{drawing.stem}.png"))
        if len(shown) < 5:
            faults.append(f"{drawing.name} has {len(shown)} pictures")
        for picture in shown:
            size = int(picture.parts[-3].split("x")[0])
            image = Image.open(picture).convert("RGBA")
            again = Image.open(io.BytesIO(run("rsvg-convert", "-w", str(size), "-h", str(size), drawing).stdout)).convert("RGBA")
            if image.size != again.size:
                faults.append(f"{picture} is {image.size}")
            elif max(ImageStat.Stat(ImageChops.difference(image, again)).mean) > 4:
                faults.append(f"{picture} does not show {drawing.name}: run packaging/icons/make")


def copyright_of_the_page(text):
    web = HERE.parent / "web"
    if not (web / "node_modules/.package-lock.json").exists():
        return
    lock = json.loads((web / "package-lock.json").read_text())["packages"]
    paragraphs = {}
    for block in text.split("\n\n"):
        licence = re.search(r"^License: (.+)$", block, re.M)
        for name in re.findall(r"web/node_modules/(\S+)/\*", block):
            paragraphs[name] = licence.group(1)
    names = {"MIT": "Expat", "BSD-3-Clause": "BSD-3-clause"}
    inside = {path.removeprefix("node_modules/"): entry for path, entry in lock.items() if path and not entry.get("dev") and not entry.get("devOptional")}
    for name, entry in inside.items():
        licence = names.get(entry["license"], entry["license"])
        if paragraphs.get(name) != licence:
            faults.append(f"copyright: {name} is under {licence}; the file says {paragraphs.get(name)}")
    for name in paragraphs.keys() - inside.keys():
        faults.append(f"copyright: {name} is not in the page")


def installed(build, update):
    with tempfile.TemporaryDirectory() as folder:
        done = run("cmake", "--install", build, "--prefix", "/usr", env=os.environ | {"DESTDIR": folder})
        if done.returncode != 0:
            sys.exit(done.stderr.decode())
        usr = pathlib.Path(folder) / "usr"
        found = listed((path.relative_to(usr), path.stat().st_mode & stat.S_IXOTH) for path in usr.rglob("*") if path.is_file())
        if update:
            LIST.write_text("\n".join(found) + "\n")
        compare(found)

        must("desktop entry", run("desktop-file-validate", usr / "share/applications/lathbook.desktop"))
        must("MIME type", run("xmllint", "--noout", usr / "share/mime/packages/lathbook.xml"))
        for page in sorted((usr / "share/man").rglob("*.gz")):
            must(page.name, run("mandoc", "-Tlint", "-Wwarning", input=gzip.decompress(page.read_bytes())))
        for page in ("bash -n", "zsh -n"):
            file = {"bash -n": "bash-completion/completions/lathbook", "zsh -n": "zsh/vendor-completions/_lathbook"}[page]
            must(file, run(*page.split(), usr / "share" / file))
        icons(usr)
        copyright_of_the_page((usr / "share/doc/lathbook/copyright").read_text())

        program = usr / "bin/lathbook"
        version = run(program, "--version").stdout.decode().splitlines()[0].split()[1]
        if f"lathbook ({version}) " not in gzip.decompress((usr / "share/doc/lathbook/changelog.gz").read_bytes()).decode():
            faults.append(f"the changelog does not begin with {version}")
        book = pathlib.Path(folder) / "house.lathbook"
        run(program, "demo", book)
        paper = run(program, "papers", "register", "--to", folder, book)
        if paper.returncode != 0 or not (pathlib.Path(folder) / "register.pdf").exists():
            faults.append(f"the installed program makes no paper: {paper.stderr.decode()}")
        # Told of a port that cannot be, the program that serves answers itself.
        refused = run(program, "serve", "--port", "1", "--no-open", book)
        if b"is not a port" not in refused.stderr:
            faults.append(f"the installed program does not find the one that serves: {refused.stderr.decode()}")


def package(deb):
    lines = run("dpkg-deb", "-c", deb).stdout.decode().splitlines()
    rows = [(line.split()[5], line[9] == "x") for line in lines if not line.startswith("d")]
    compare(listed((path.removeprefix("./usr/"), runs) for path, runs in rows))
    for line in lines:
        if " root/root " not in line:
            faults.append(f"not owned by root: {line}")
    depends = run("dpkg-deb", "-f", deb, "Depends").stdout.decode()
    for name in ("fonts-open-sans", "fonts-sil-gentiumplus", "libc6 (", "libpangocairo-1.0-0", "libsqlite3-0", "libsodium23"):
        if name not in depends:
            faults.append(f"Depends does not name {name}: {depends}")
    if "xdg-utils" not in run("dpkg-deb", "-f", deb, "Recommends").stdout.decode():
        faults.append("Recommends does not name xdg-utils")


if __name__ == "__main__":
    if sys.argv[1] == "--deb":
        package(sys.argv[2])
    else:
        installed(sys.argv[1], "--update" in sys.argv)
    print("\n".join(faults) or f"{len(LIST.read_text().splitlines())} files as listed")
    sys.exit(1 if faults else 0)
