#!/usr/bin/python3
"""own_libraries.py PROGRAM…: none of the programs takes a library from the folder one happens to be in.

Each is started in a folder that holds an empty file by the name of every library it needs; one that looked there first
would end with the loader's 127.
"""
import os
import re
import subprocess
import sys
import tempfile


def needed(program):
    told = subprocess.run(["readelf", "-d", program], capture_output=True, text=True, check=True).stdout
    return re.findall(r"\(NEEDED\).*\[(.+)\]", told)


def main():
    for program in sys.argv[1:]:
        libraries = needed(program)
        if not libraries:
            sys.exit(f"{program} needs no library: this looks at nothing")
        with tempfile.TemporaryDirectory() as folder:
            for name in libraries:
                open(os.path.join(folder, name), "wb").close()
            ended = subprocess.run([os.path.abspath(program), "--version"], cwd=folder, capture_output=True, text=True, check=False)
        if ended.returncode == 127:
            sys.exit(f"{program} takes libraries from the folder it is started in: {ended.stderr.strip()}")


main()
