#!/usr/bin/env python3
"""A log of 50 MB must be checked in little memory.

    memory.py BARM

Fails where the peak is above 24 MB and 7.5 bytes for each byte of the log.
"""

import pathlib
import resource
import subprocess
import sys
import tempfile

import make_season

SIZE = 50_000_000
BASE = 24_000_000
MOST = 7.5


def main():
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "season.barm"
        size = 0
        with path.open("w", encoding="utf-8") as out:
            for _, text in make_season.season(1_000_000):
                out.write(text)
                size += len(text.encode())
                if size >= SIZE:
                    break
        ran = subprocess.run([sys.argv[1], "check", path], stdout=subprocess.DEVNULL, check=False)
        if ran.returncode not in (0, 1):
            sys.exit(f"barm ended with {ran.returncode}")
        peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss * 1024
        ratio = (peak - BASE) / size
        print(f"{size / 1e6:.0f} MB of log: peak {peak / 1e6:.0f} MB, {ratio:.2f} bytes a byte above {BASE / 1e6:.0f} MB")
        if ratio > MOST:
            sys.exit(f"more than {MOST} bytes a byte")


if __name__ == "__main__":
    main()
