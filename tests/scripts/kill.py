#!/usr/bin/env python3
"""Kills `barm fix` at random moments, over and over, and looks at what is left.

After each kill every log must be its old text or its new one, byte for byte, and whatever else lies in the folder must be
the new text of a log in full, under a passing name: the one moment at which there is such a name lies between naming a
complete file and moving it into place.

    kill.py BARM [--times 1000] [--seed 1]
"""

import argparse
import os
import pathlib
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time

LOGS = 6
BREWS = 150


def log(number):
    """A log that `fix` changes in many places: decimal commas, and temperatures without a unit to guess."""
    lines = []
    for brew in range(BREWS):
        lines += [
            f"brew kill-{number}-{brew}",
            "  kind         ale",
            "  wort         21 L at 1,048",
            "  on 2026-09-12",
            "    temp 18,2 °C",
            "",
        ]
    return "\n".join(lines) + "\n"


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("barm", type=pathlib.Path)
    parser.add_argument("--times", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    dice = random.Random(args.seed)
    command = [str(args.barm.resolve()), "fix", "."]

    with tempfile.TemporaryDirectory() as place:
        place = pathlib.Path(place)
        old = {"barm.toml": ""} | {f"log-{n}.barm": log(n) for n in range(LOGS)}
        old = {name: text.encode() for name, text in old.items()}

        def laid(folder):
            folder.mkdir()
            for name, text in old.items():
                (folder / name).write_bytes(text)
            return folder

        whole = laid(place / "whole")
        began = time.perf_counter()
        subprocess.run(command, cwd=whole, check=True, stdout=subprocess.DEVNULL)
        longest = time.perf_counter() - began
        new = {name: (whole / name).read_bytes() for name in old}
        changed = [name for name in old if new[name] != old[name]]
        if sorted(changed) != sorted(name for name in old if name.endswith(".barm")):
            sys.exit(f"`barm fix` was to change every log and changed {changed}")
        if sorted(os.listdir(whole)) != sorted(old):
            sys.exit(f"`barm fix` left more than the logs: {os.listdir(whole)}")

        killed = mixed = passing = 0
        for turn in range(args.times):
            folder = laid(place / "torn")
            child = subprocess.Popen(command, cwd=folder, stdout=subprocess.DEVNULL)
            # Most of the time goes into reading; writing, at the end, is what is to be hit.
            time.sleep(longest * dice.triangular(0.2, 1.3, 0.9))
            child.send_signal(signal.SIGKILL)
            was_killed = child.wait() == -signal.SIGKILL
            killed += was_killed
            # The machine may be busier or idler than when a whole run was timed: the aim follows what was hit.
            longest *= 1.01 if was_killed else 0.99
            states = set()
            for name in os.listdir(folder):
                text = (folder / name).read_bytes()
                if name in old:
                    if text not in (old[name], new[name]):
                        sys.exit(f"turn {turn}: {name} is neither its old text nor its new one")
                    if name in changed:
                        states.add(text == new[name])
                else:
                    passing += 1
                    if text not in new.values():
                        sys.exit(f"turn {turn}: {name} is left, and is no whole log")
            if len(set(os.listdir(folder)) & set(old)) != len(old):
                sys.exit(f"turn {turn}: a log is gone")
            mixed += len(states) == 2
            shutil.rmtree(folder)
    print(
        f"{args.times} runs, {killed} of them killed, {mixed} between two logs; every log was old or new in full; "
        f"{passing} complete copies under passing names"
    )
    if killed < args.times // 4 or not mixed:
        sys.exit("the kills did not hit the writing: nothing was shown")


if __name__ == "__main__":
    main()
