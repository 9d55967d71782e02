#!/usr/bin/env python3
"""How long a season takes, beside a well-known fast checker of another language on as many bytes.

    speed.py BARM [--logs 10000] [--rounds 5] [--ruff ruff] [--at-most 1.3]

Runs `barm check` and `ruff check --no-cache` (PyPI: ruff) in turns and prints the ratio of the least CPU time and the least
wall time of each. Equal bytes are not equal work: ruff carries nothing from file to file, barm follows every jar through the
season. With --at-most, fails where the CPU ratio is above it.
"""

import argparse
import os
import pathlib
import sys
import tempfile
import time

import make_season


def python(size, number):
    """A sound module of Python of exactly `size` bytes."""
    out, left, count = [f'"""Module {number}."""\n\n'], size, 0
    left -= len(out[0])
    while left > 400:
        function = (
            f"\ndef reckon_{count}(first, second, factor={count % 7}):\n"
            f'    """Adds up what was read on day {count}."""\n'
            f"    total = first * {count}.5 + second / (factor + 1)\n"
            f"    for step in range({count + 3}):\n"
            f"        if step % 2 == 0 and total > {count * 3}:\n"
            f'            total -= len(f"step {{step}} of {{first}}") * factor\n'
            f"    return total\n"
        )
        out.append(function)
        left -= len(function)
        count += 1
    comment = "\n# the rest is silence, and a note as long as it must be"
    out.append((comment + " " + "x" * left)[: left - 1] + "\n")
    return "".join(out)


def run(command, folder):
    """CPU and wall seconds."""
    begun = time.perf_counter()
    with open(os.devnull, "wb") as null:
        process = os.posix_spawnp(
            command[0], [*command, str(folder)], os.environ,
            file_actions=[(os.POSIX_SPAWN_DUP2, null.fileno(), 1), (os.POSIX_SPAWN_DUP2, null.fileno(), 2)],
        )
        _, status, usage = os.wait4(process, 0)
    wall = time.perf_counter() - begun
    if os.waitstatus_to_exitcode(status) not in (0, 1):
        sys.exit(f"{command[0]} ended with {os.waitstatus_to_exitcode(status)}")
    return usage.ru_utime + usage.ru_stime, wall


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("barm")
    parser.add_argument("--logs", type=int, default=10_000)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--ruff", default="ruff")
    parser.add_argument("--at-most", type=float)
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        logs, modules = pathlib.Path(folder) / "logs", pathlib.Path(folder) / "modules"
        size = 0
        for number, (path, text) in enumerate(make_season.season(args.logs)):
            data = text.encode()
            size += len(data)
            for root, name, content in (
                (logs, path, data),
                (modules, str(pathlib.Path(path).with_suffix(".py")).replace("-", "_"), python(len(data), number).encode()),
            ):
                (root / name).parent.mkdir(parents=True, exist_ok=True)
                (root / name).write_bytes(content)
        (logs / "barm.toml").write_text("")
        commands = {
            "barm check": ([args.barm, "check"], logs),
            "ruff check": ([args.ruff, "check", "--no-cache", "--isolated", "--quiet"], modules),
        }
        times = {name: [] for name in commands}
        for _ in range(args.rounds):
            for name, (command, root) in commands.items():
                times[name].append(run(command, root))
    least = {name: [min(column) for column in zip(*rows)] for name, rows in times.items()}
    for name, (cpu, wall) in least.items():
        print(f"{name}: {cpu * 1e3:6.0f} ms CPU, {wall * 1e3:6.0f} ms wall, {size / 1e6 / cpu:6.1f} MB a CPU second")
    (cpu, wall), (other_cpu, other_wall) = least["barm check"], least["ruff check"]
    print(f"{args.logs} logs, {size / 1e6:.1f} MB: barm to ruff {cpu / other_cpu:.2f} CPU, {wall / other_wall:.2f} wall")
    if args.at_most is not None and cpu / other_cpu > args.at_most:
        sys.exit(f"more than {args.at_most} times the CPU time")


if __name__ == "__main__":
    main()
