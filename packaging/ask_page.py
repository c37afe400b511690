#!/usr/bin/env python3
"""Opens the page at the address `lathbook serve` printed, as a browser would, and asks it about the demo's book.

ask_page.py ADDRESS. Fails when the page, its script or an answer is not there, when somebody without the key gets one, or
when a paper cannot be made.
"""
import http.cookiejar
import json
import re
import sys
import urllib.error
import urllib.parse
import urllib.request

address = sys.argv[1]
base = f"http://{urllib.parse.urlsplit(address).netloc}"
browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar()))

assert urllib.parse.urlsplit(address).hostname == "127.0.0.1", address
try:
    urllib.request.urlopen(f"{base}/api/book", timeout=20)
    raise SystemExit("somebody without the key is answered")
except urllib.error.HTTPError as refused:
    assert refused.code == 401, refused
page = browser.open(address, timeout=20).read().decode()
script = re.search(r'<script[^>]* src="(/[^"]+\.js)"', page)
assert script, page
assert len(browser.open(base + script.group(1), timeout=20).read()) > 100_000
book = json.load(browser.open(f"{base}/api/book", timeout=60))
assert len(book["jobs"]) == 7 and len(book["materials"]) == 18, book["overview"]
paper = browser.open(f"{base}/api/paper/register/register.pdf", timeout=60).read()
assert paper.startswith(b"%PDF-") and len(paper) > 4000, len(paper)
