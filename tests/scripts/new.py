#!/usr/bin/env python3
"""Answers the questions of `barm new` on a terminal, as a person would: with mistakes, and with Enter.

    new.py BARM
"""

import os
import pathlib
import pty
import re
import subprocess
import sys
import tempfile


def talk(command, folder, answers):
    """Runs a command on a terminal of its own; answers each prompt in turn, and returns all that it showed."""
    ours, theirs = pty.openpty()
    child = subprocess.Popen(command, cwd=folder, stdin=theirs, stdout=theirs, stderr=theirs)
    os.close(theirs)
    shown = b""
    answers = list(answers)
    while True:
        try:
            piece = os.read(ours, 4096)
        except OSError:  # the other end is closed
            break
        if not piece:
            break
        shown += piece
        if shown.endswith(b"> "):
            if not answers:
                sys.exit(f"one question more than answers:\n{shown.decode()}")
            os.write(ours, answers.pop(0).encode() + b"\n")
    if child.wait() != 0 or answers:
        sys.exit(f"exit {child.returncode}, answers left {answers}:\n{shown.decode()}")
    return shown.decode().replace("\r\n", "\n")


def wants(text, *pieces):
    for piece in pieces:
        if not re.search(piece, text):
            sys.exit(f"`{piece}` is not in\n{text}")


def main():
    barm = str(pathlib.Path(sys.argv[1]).resolve())
    with tempfile.TemporaryDirectory() as place:
        place = pathlib.Path(place)
        shown = talk([barm, "new", "workspace"], place, ["imperial", "metric", "", "4 °C"])
        wants(shown, "began barm.toml", "metric")
        wants((place / "barm.toml").read_text(), 'units = "metric"', r'\[places\]\nrefrigerator = "4 °C"')

        shown = talk(
            [barm, "new", "culture", "tide-a", "--file", "yeast.barm"],
            place,
            ["tidemill-ale", "", "two packs", "pack 2 × 100 B", "made 2026-08-14", "ale", "4 °C"],
        )
        wants(shown, "it cannot do without", "it begins with `pack`", "began yeast.barm with culture tide-a")

        shown = talk(
            [barm, "new", "brew", "slack-4"],
            place,
            ["Slack Water", "21 L at 1,048", "21 L at 1.048", "", "18 °C", "", "2026-09-12", "tide-a ?"],
        )
        wants(shown, r"Enter takes \d{4}-\d\d-\d\d", "There is: tide-a", "the decimal sign is a point", "open-question")
        wants((place / "slack-4.barm").read_text(), '^brew slack-4 "Slack Water"\n', "on 2026-09-12\n")
        ended = subprocess.run([barm, "fmt", "--check"], cwd=place)
        if ended.returncode != 0:
            sys.exit("what `barm new` writes is not as `barm fmt` sets it")
    print("`barm new` asks, explains, and writes what was answered")


if __name__ == "__main__":
    main()
