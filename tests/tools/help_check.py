#!/usr/bin/env python3
"""What the program says of itself: help of every command, the manual page, the shell completion.

help_check.py PROGRAM. Fails when a command has no help, when help is wider than 80 columns or leaves out an option that
the manual names, when mandoc finds anything wrong with the manual, or when bash cannot read the completion or it
completes nothing.
"""
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
for shell in ("zsh", "fish"):
    if "lathbook" not in run("completion", shell).stdout:
        faults.append(f"no completion for {shell}")

print("\n".join(faults) or f"{len(names)} commands explain themselves")
sys.exit(1 if faults else 0)
