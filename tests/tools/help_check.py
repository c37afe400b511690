#!/usr/bin/env python3
"""What the program says of itself: help of every command, the manual page, the shell completion, the versions.

help_check.py PROGRAM. Fails when a command has no help, when help is wider than 80 columns or leaves out an option that
the manual names, when mandoc finds anything wrong with the manual, when a shell cannot read its completion or completes
nothing by it, or when --version tells other than the files of this tree.
"""
import hashlib
import json
import pathlib
import re
import subprocess
import sys

PROGRAM = sys.argv[1]
faults = []


def run(*words, **kw):
    return subprocess.run([PROGRAM, *words], capture_output=True, text=True, check=False, **kw)


top = run("--help")
names = re.findall(r"^  ([a-z-]+) +\S", top.stdout.split("Commands\n")[-1].split("\n\n")[0], re.M)
if len(names) < 15:
    faults.append(f"--help names only {names}")
manual = run("manual").stdout
for name in names:
    told = run(name, "--help")
    if told.returncode != 0 or not told.stdout:
        faults.append(f"{name} --help fails")
    for line in (top.stdout + told.stdout).splitlines():
        if len(line) > 80:
            faults.append(f"{name} --help is wider than 80 columns: {line}")
    if f".SS {name}".replace("-", "\\-") not in manual:
        faults.append(f"the manual says nothing of {name}")
    section = manual.split(f".SS {name}".replace("-", "\\-") + "\n")[-1].split(".SS ")[0]
    for option in re.findall(r"^\.B (\S+)", section, re.M):
        plain = option.replace("\\-", "-")
        if plain.startswith("--") and plain not in told.stdout:
            faults.append(f"{name} --help says nothing of {plain}")

lint = subprocess.run(["mandoc", "-Tlint", "-Wwarning"], input=manual, capture_output=True, text=True, check=False)
if lint.stdout.strip():
    faults.append("manual: " + lint.stdout)

bash = run("completion", "bash").stdout
script = bash + '\nCOMP_WORDS=(lathbook che); COMP_CWORD=1; _lathbook; echo "${COMPREPLY[@]}"\n'
script += 'COMP_WORDS=(lathbook calc mat); COMP_CWORD=2; _lathbook; echo "${COMPREPLY[@]}"\n'
answer = subprocess.run(["bash", "-c", script], capture_output=True, text=True, check=False)
if answer.stdout.split() != ["check", "material-score"] or answer.stderr:
    faults.append(f"bash completes {answer.stdout!r} {answer.stderr!r}")
for before, after in (("--to", "/et"), ("--from", "/et")):
    script = bash + f'\nCOMP_WORDS=(lathbook export {before} {after}); COMP_CWORD=3; _lathbook; echo "${{COMPREPLY[@]}}"\n'
    if "/etc" not in subprocess.run(["bash", "-c", script], capture_output=True, text=True, check=False).stdout:
        faults.append(f"bash completes no file after {before}")
# zsh completes only at a terminal: here it reads the script, and each command must be offered in it.
zsh = run("completion", "zsh").stdout
read = subprocess.run(["zsh", "-n"], input=zsh, capture_output=True, text=True, check=False)
if read.returncode != 0 or read.stderr:
    faults.append(f"zsh cannot read its completion: {read.stderr}")
for name in names:
    if f"'{name}:" not in zsh or f"    {name}) words_of=" not in zsh:
        faults.append(f"zsh is not told of {name}")
for typed, expected in (("lathbook che", "check"), ("lathbook calc mat", "material-score"), ("lathbook show --s", "--storey")):
    script = run("completion", "fish").stdout + f'\ncomplete -C "{typed}"\n'
    answer = subprocess.run(["fish", "--no-config", "-c", script], capture_output=True, text=True, check=False)
    if expected not in answer.stdout.split() or answer.stderr:
        faults.append(f"fish completes {typed!r} with {answer.stdout!r} {answer.stderr!r}")

root = pathlib.Path(__file__).resolve().parents[2]
version = re.search(r"project\(lathbook VERSION (\S+)", (root / "CMakeLists.txt").read_text()).group(1)
data = sorted(path for path in (root / "data").rglob("*") if path.suffix in (".json", ".csv"))
rows = {name: len(json.loads((root / f"data/{name}.json").read_text())[name]) for name in ("sources", "families")}
told = [f"lathbook {version}"]
for path in sorted((root / "data/law").glob("*.json")):
    pack = json.loads(path.read_text())
    told.append(f"Rules: {pack['name']} ({pack['id']})" + (f", read by {pack['as_of']}" if "as_of" in pack else ""))
digest = hashlib.sha256(b"".join(path.read_bytes() for path in sorted(data, key=lambda path: str(path.relative_to(root)))))
told.append(f"Data:  {rows['sources']} sources, {rows['families']} product families, {digest.hexdigest()[:16]}")
told.append(f"Books: schema {len(list((root / 'src/store/migrations').glob('*.sql')))}")
if run("--version").stdout.splitlines() != told:
    faults.append(f"--version tells {run('--version').stdout!r}, not {told}")

print("\n".join(faults) or f"{len(names)} commands explain themselves")
sys.exit(1 if faults else 0)
