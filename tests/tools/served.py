"""A book served by the program, and its page's side of the talk, for the scripts beside this one."""
import http.client
import json
import pathlib
import re
import subprocess
import time


class Refused(RuntimeError):
    """An answer other than 200."""

    def __init__(self, status, words):
        super().__init__(words)
        self.status = status


class Page:
    """The served page as a browser talks to it."""

    def __init__(self, lathbook, book):
        self.slowest_s = 0.0  # answer yet
        self.server = subprocess.Popen([lathbook, "serve", str(book), "--no-open"], stdout=subprocess.PIPE, text=True)
        address = ""
        while not (found := re.search(r"http://([\d.]+):(\d+)(/\S+)", address)):
            line = self.server.stdout.readline()
            if not line:
                raise RuntimeError(f"the server ended: {address}")
            address += line
        self.host, self.port, entrance = found.group(1), int(found.group(2)), found.group(3)
        answer = self.raw("GET", entrance, {})
        self.cookie = answer[1]["Set-Cookie"].split(";")[0]

    def raw(self, method, path, headers, body=None):
        began = time.perf_counter()
        link = http.client.HTTPConnection(self.host, self.port, timeout=30)
        link.request(method, path, body, headers)
        answer = link.getresponse()
        text = answer.read()
        link.close()
        self.slowest_s = max(self.slowest_s, time.perf_counter() - began)
        return answer.status, dict(answer.getheaders()), text

    def ask(self, path, body=None):
        headers = {"Cookie": self.cookie}
        if body is None:
            status, _, text = self.raw("GET", path, headers)
        else:
            headers |= {"Origin": f"http://{self.host}:{self.port}", "Content-Type": "application/json"}
            status, _, text = self.raw("POST", path, headers, json.dumps(body))
        if status != 200:
            raise Refused(status, f"{path}: {status} {text[:400]}")
        return json.loads(text)

    def memory_mb(self):
        """Of the program that serves: `lathbook serve` becomes it."""
        status = pathlib.Path(f"/proc/{self.server.pid}/status").read_text()
        return int(re.search(r"VmRSS:\s+(\d+)", status).group(1)) / 1024

    def close(self):
        self.server.terminate()
        self.server.wait()
        self.server.stdout.close()

    def kill(self):
        self.server.kill()
        self.server.wait()
        self.server.stdout.close()
