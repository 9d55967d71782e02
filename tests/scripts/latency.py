#!/usr/bin/env python3
"""How long the language server takes from a keystroke to the diagnostics, beside another language's well-known one.

    latency.py BARM [--edits 1000] [--logs 1,1000,10000] [--lines 60,5000] [--ruff ruff]

For each length of file, a `barm serve` in a workspace of each size and a `ruff server` (PyPI: ruff), which carries nothing
from file to file and so has one file only, of as many bytes. All of them run at once and are edited in turns, so that what
else the machine does falls on all alike. An edit puts one character in, or takes it out again; its time runs from before the
`didChange` is written until the answer to the `textDocument/diagnostic` behind it has been read. Fails where the diagnostics
do not follow the edits; times are printed and not judged.
"""

import argparse
import gc
import json
import math
import os
import pathlib
import random
import subprocess
import sys
import tempfile
import time

import make_season
import speed

WARMING_UP = 20


class Server:
    """A server with one document open."""

    def __init__(self, name, command, language, root, path, typed, lines):
        self.name, self.uri, self.typed = name, path.as_uri(), typed
        text = path.read_text(encoding="utf-8")
        # Where a character at the end of a line makes a fault.
        self.ends = [(at, len(line)) for at, line in enumerate(text.split("\n")) if lines(line)]
        self.random = random.Random(1)
        self.version, self.place, self.number = 1, None, 0
        self.times, self.faults = [], {True: set(), False: set()}
        begun = time.perf_counter()
        self.process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, cwd=root
        )
        capabilities = {
            "general": {"positionEncodings": ["utf-32", "utf-16"]},
            "textDocument": {"diagnostic": {}, "synchronization": {}},
        }
        folder = {"uri": root.as_uri(), "name": root.name}
        self.request(
            "initialize",
            {"processId": os.getpid(), "rootUri": root.as_uri(), "workspaceFolders": [folder], "capabilities": capabilities},
        )
        self.initialized = time.perf_counter() - begun
        self.notify("initialized", {})
        document = {"uri": self.uri, "languageId": language, "version": 1, "text": text}
        self.notify("textDocument/didOpen", {"textDocument": document})
        self.diagnostics()
        self.first = time.perf_counter() - begun

    def send(self, message):
        body = json.dumps({"jsonrpc": "2.0", **message}, separators=(",", ":")).encode()
        self.process.stdin.write(b"Content-Length: %d\r\n\r\n%s" % (len(body), body))
        self.process.stdin.flush()

    def notify(self, method, params):
        self.send({"method": method, "params": params})

    def receive(self):
        length = None
        while True:
            line = self.process.stdout.readline()
            if not line:
                sys.exit(f"{self.name} is gone")
            if not line.strip():
                return json.loads(self.process.stdout.read(length))
            key, _, value = line.partition(b":")
            if key.lower() == b"content-length":
                length = int(value)

    def request(self, method, params):
        """The answer; what the server asks in between is answered, what it tells is passed over."""
        self.number += 1
        self.send({"id": self.number, "method": method, **({"params": params} if params is not None else {})})
        while True:
            message = self.receive()
            if "method" not in message and message.get("id") == self.number:
                if "error" in message:
                    sys.exit(f"{self.name}, {method}: {message['error']}")
                return message["result"]
            if "method" in message and "id" in message:
                self.send({"id": message["id"], "result": None})

    def diagnostics(self):
        return self.request("textDocument/diagnostic", {"textDocument": {"uri": self.uri}})["items"]

    def edit(self):
        """One keystroke: its time in seconds."""
        if self.place is None:
            line, column = self.place = self.random.choice(self.ends)
            end, text = column, self.typed
        else:
            line, column = self.place
            self.place, end, text = None, column + len(self.typed), ""
        self.version += 1
        change = {"range": {"start": {"line": line, "character": column}, "end": {"line": line, "character": end}}, "text": text}
        params = {"textDocument": {"uri": self.uri, "version": self.version}, "contentChanges": [change]}
        begun = time.perf_counter()
        self.notify("textDocument/didChange", params)
        found = self.diagnostics()
        took = time.perf_counter() - begun
        self.faults[self.place is not None].add(json.dumps(found))
        return took

    def cpu(self):
        fields = pathlib.Path(f"/proc/{self.process.pid}/stat").read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def peak(self):
        status = pathlib.Path(f"/proc/{self.process.pid}/status").read_text()
        return int(status.split("VmHWM:")[1].split()[0]) / 1024

    def end(self):
        self.request("shutdown", None)
        self.send({"method": "exit"})
        self.process.stdin.close()
        self.process.wait()
        if self.faults[True] & self.faults[False]:
            sys.exit(f"{self.name}: its diagnostics do not follow the edits")


def share(values, part):
    """The value below which so large a part of the values lies."""
    return sorted(values)[max(0, math.ceil(len(values) * part) - 1)]


def edited_log(lines, numbers):
    """A log of about so many lines: one brew, or a file of many."""
    text = make_season.brew(next(numbers), random.Random(1))
    while text.count("\n") < lines * 0.9:
        text += "\n" + make_season.brew(next(numbers), random.Random(1))
    return text


def started(folder, args, lines):
    """The servers to be compared, each with its document open."""
    servers = []
    for logs in args.logs:
        root = folder / f"{lines}-lines-{logs}-logs"
        for path, text in make_season.season(logs):
            path = root / path
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        (root / "barm.toml").write_text("")
        path = root / "000/brew-000000.barm"
        if lines > 100:
            # As many brews as it takes, of jars of their own.
            path = root / "many.barm"
            first = (logs // 10 + 1) * 10
            path.write_text(edited_log(lines, iter(range(first, first + lines))), encoding="utf-8")
        size = path.stat().st_size
        name = f"barm, {logs:6} logs"
        servers.append(Server(name, [args.barm, "serve"], "barm", root, path, "?", lambda line: line.endswith("°C")))
    root = folder / f"{lines}-lines-python"
    root.mkdir()
    path = root / "module.py"
    path.write_text(speed.python(size, 1))
    is_code = lambda line: line.startswith("    total = ")
    servers.append(Server("ruff,      1 file", [args.ruff, "server"], "python", root, path, "(", is_code))
    return servers


def numbers(text):
    return [int(number) for number in text.split(",")]


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("barm")
    parser.add_argument("--edits", type=int, default=1000)
    parser.add_argument("--logs", type=numbers, default=[1, 1000, 10_000])
    parser.add_argument("--lines", type=numbers, default=[60, 5000])
    parser.add_argument("--ruff", default="ruff")
    args = parser.parse_args()
    args.barm = str(pathlib.Path(args.barm).resolve())
    for lines in args.lines:
        with tempfile.TemporaryDirectory() as folder:
            servers = started(pathlib.Path(folder).resolve(), args, lines)
            gc.disable()
            for nth in range(WARMING_UP + args.edits):
                for server in servers:
                    if nth == WARMING_UP:
                        server.begun = server.cpu()
                    took = server.edit()
                    if nth >= WARMING_UP:
                        server.times.append(took * 1e3)
            gc.enable()
            print(f"{lines} lines, {args.edits} edits: ms from a keystroke to the diagnostics")
            print("                     median     p99     CPU   to initialize   to the first   peak MB")
            figures = {}
            for server in servers:
                median, late = share(server.times, 0.5), share(server.times, 0.99)
                cpu = (server.cpu() - server.begun) / args.edits * 1e3
                print(
                    f"  {server.name}  {median:7.2f} {late:7.2f} {cpu:7.2f} {server.initialized * 1e3:15.1f}"
                    f" {server.first * 1e3:14.1f} {server.peak():9.1f}"
                )
                figures[server] = late
                server.end()
            one, many, ruff = servers[0], servers[-2], servers[-1]
            print(f"  p99 with {args.logs[0]} logs to ruff's {figures[one] / figures[ruff]:.2f}", end="")
            print(f", with {args.logs[-1]} to that with {args.logs[0]} {figures[many] / figures[one]:.2f}")


if __name__ == "__main__":
    main()
