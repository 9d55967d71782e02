#!/usr/bin/env python3
"""Twice the log must not cost more than twice the work, whatever stands in it.

    growth.py BARM

Counts instructions (valgrind, so that other work on the machine does not matter) of `barm check -` at 1 MB and at 2 MB, and
fails where the second is more than 2.1 times the first.
"""

import random
import re
import subprocess
import sys

import make_season

MEGABYTE = 1 << 20
MOST = 2.1


def season(size):
    """About `size` bytes of an ordinary season in one file."""
    logs, total = [], 0
    for _, text in make_season.season(10 * size // MEGABYTE * 1000):
        logs.append(text)
        total += len(text.encode())
        if total >= size:
            return "\n".join(logs).encode()
    raise ValueError("the season is too short")


def many(line):
    """A brew whose every line is this one."""
    return lambda size: b"brew a\n" + line * (size // len(line))


def long(piece):
    """One line of nothing but this."""
    return lambda size: b"brew a\n  " + piece * (size // len(piece)) + b"\n"


INPUTS = {
    "an ordinary season": season,
    "one line of spaces": long(b" "),
    "one line of commas": long(b", "),
    "one line of quotes": long(b'"'),
    "one line of digits": long(b"9"),
    "random bytes": lambda size: random.Random(7).randbytes(size),
    "unreadable lines": many(b"  nonsense 12, temp 18, wort\n"),
    "unknown names": lambda size: b"brew a\n  on 2026-01-01\n" + b"".join(b"  pitch n%07d 1 L\n" % n for n in range(size // 22)),
    "names nearly known": lambda size: b"".join(
        b"culture b%07d\nbrew c%07d\n  wort 9 L at 1.05\n  on 2026-01-01\n  pitch n%07d\n" % (n, n, n)
        for n in range(size // 74)
    ),
    "readings of one day": lambda size: b"brew a\n  wort 20 L at 1.050\n  on 2026-01-01\n" + b"    08:00  temp 18 C\n" * (size // 21),
    "blocks": lambda size: b"".join(b"brew b-%07d\n" % n for n in range(size // 15)),
    "draws on one jar": lambda size: b"culture jar\n  slurry 900 L\n"
    + b"".join(b"brew b%07d\n  wort 9 L at 1.05\n  on 2026-01-01\n  pitch jar 1 mL\n" % n for n in range(size // 65)),
    "generations": lambda size: b"culture j0000000\n  slurry 9 L\n"
    + b"".join(
        b"brew b%07d\n  wort 9 L at 1.05\n  on 2026-01-01\n  pitch j%07d all\n  harvest j%07d 1 L\n" % (n, n, n + 1)
        for n in range(size // 89)
    ),
    # A line beyond all length is not looked into: these are long, and few.
    "commas without a space": lambda size: b"brew a\n  on 2026-01-01\n" + 25 * (b"    add 3 kg " + b",a" * (size // 500) + b" 5\n"),
    "merge marks": many(b"<<<<<<< a\n=======\n>>>>>>> b\n"),
    "acceptances": many(b"  temp 18 C  # accept too-warm: so be it\n"),
}


def instructions(barm, text):
    """How many instructions `barm check -` takes."""
    ran = subprocess.run(
        ["valgrind", "--tool=callgrind", "--callgrind-out-file=/dev/null", barm, "check", "-"],
        input=text, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, check=False,
    )
    collected = re.search(rb"Collected : (\d+)", ran.stderr)
    if ran.returncode not in (0, 1) or not collected:
        sys.exit(f"barm ended with {ran.returncode}:\n{ran.stderr.decode(errors='replace')}")
    return int(collected[1])


def main():
    barm = sys.argv[1]
    base = instructions(barm, b"")
    worst = 0.0
    for name, make in INPUTS.items():
        one, two = make(MEGABYTE), make(2 * MEGABYTE)
        small, large = instructions(barm, one) - base, instructions(barm, two) - base
        # Whole lines: the larger is not exactly twice the smaller.
        growth = large / max(small, 1) * 2 * len(one) / len(two)
        worst = max(worst, growth)
        print(f"{name:24} {small / len(one):8.0f} instructions a byte, × {growth:.2f} for twice the bytes", flush=True)
    if worst > MOST:
        sys.exit(f"grows by {worst:.2f}, more than {MOST}")


if __name__ == "__main__":
    main()
