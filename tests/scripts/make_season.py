#!/usr/bin/env python3
"""Makes a season of brewing logs, to measure with. The same arguments give the same bytes everywhere.

    make_season.py FOLDER --logs 10000

Brews come in tens. The first of ten is pitched from a starter grown from a pack; its yeast is harvested into one jar, and
the other nine draw on that jar, each from a log of its own. So every log needs others to be reckoned, as in a real house.
"""

import argparse
import datetime
import pathlib
import random

STRAINS = """# The strains of the house
strain tidemill-ale
  kind         ale
  range        17..21 °C
  attenuates   73..78 %
  tolerates    10 %ABV
  flocculates  high

strain fen-lager
  kind         lager
  range        8..13 °C
  attenuates   74..79 %
  tolerates    9 %ABV
  flocculates  medium
"""

REMARKS = [
    "krausen creamy and even", "smell of pears, faint", "airlock steady", "moved nearer the wall, the floor is cooler there",
    "sample tasted: bread, some apple", "lid wiped down", "foam touches the lid", "head falling back", "clearing from the top",
    "hydrometer rinsed and read twice", "quiet night", "cellar door stood open for an hour",
]


def brew(number, rng):
    """The text of one log."""
    ten, place = divmod(number, 10)
    lager = ten % 4 == 3
    strain = "fen-lager" if lager else "tidemill-ale"
    warm = 10.0 if lager else 18.5
    first = datetime.date(2015, 1, 5) + datetime.timedelta(days=ten // 4)
    day = first if place == 0 else first + datetime.timedelta(days=12 + place)
    litres = rng.choice([19, 20, 21, 23])
    gravity = rng.randrange(1042, 1056) / 1000
    end = round(1 + (gravity - 1) * 0.245, 3)
    name = f"brew-{number:06d}"
    lines = [f"# {name}: written beside the kettle", ""]
    if place == 0:
        made = first - datetime.timedelta(days=20)
        before = first - datetime.timedelta(days=3)
        lines += [
            f"culture pack-{ten:05d} of {strain}",
            f"  pack       {4 if lager else 2} × 100 B",
            f"  made       {made}",
            "  kept       4 °C",
            "",
            f"starter starter-{ten:05d}",
            f"  wort       {3 if lager else 2} L at 1.037",
            "  stirred",
            f"  on {before} 18:00  pitch pack-{ten:05d} {4 if lager else 2} packs",
            "",
        ]
    lines += [
        f'brew {name} "Gyle {number} of the season"',
        f"  wort       {litres} L at {gravity:.3f}",
        f"  hold       {warm - 1.5:.0f}..{warm + 2:.0f} °C",
        f"  in         tun-{number % 12}",
        "  note grist: pale malt 4.2 kg, wheat 300 g, a little crystal; mash at 66 °C for an hour; hops to taste",
        f"  on {day}",
        f"    12:{rng.randrange(10, 60)}  temp {warm:.1f} °C, note the wort ran clear and the trub stayed behind",
        "    14:00  aerate oxygen 75 s at 1 L/min",
    ]
    if place == 0:
        lines.append(f"    14:20  pitch starter-{ten:05d}")
    else:
        lines.append(f"    14:20  pitch jar-{ten:05d} {380 if lager else 210} mL")
    lines.append("    20:00  krausen none" if lager else "    23:30  krausen rising")
    for after in range(1, 11):
        share = min(1.0, (after / 8) ** 1.3)
        now = gravity - (gravity - end) * share
        lines.append(f"  on {day + datetime.timedelta(days=after)}")
        for hour in (8, 20):
            temperature = warm + rng.uniform(-0.6, 0.9)
            line = f"    {hour:02d}:{rng.randrange(60):02d}  temp {temperature:.1f} °C"
            if hour == 20 and after % 2 == 0:
                line += f", gravity {now:.3f} at {temperature:.0f} °C"
            if rng.random() < 0.6:
                line += f", note {rng.choice(REMARKS)}"
            lines.append(line)
        if rng.random() < 0.3:
            lines.append(f"    # {rng.choice(REMARKS)}")
    last = day + datetime.timedelta(days=11)
    lines.append(f"  on {last}")
    lines.append(f"    10:00  gravity {end:.3f} at {warm:.0f} °C, temp {warm:.1f} °C")
    if place == 0:
        # More than a cake of its wort holds, so that nine more have enough: the count says that it is there.
        lines.append(f"    10:30  harvest jar-{ten:05d} 4 L thick from bottom, kept 3 °C, count jar-{ten:05d} 1.2 B/mL")
    else:
        lines.append("    10:30  dump 1 L")
    lines.append(f"    11:00  keg {litres - 2} L, note cleaned and filled, two litres lost to the trub")
    return "\n".join(lines) + "\n"


def season(logs, seed=1):
    """Every file of the season: (path, text)."""
    rng = random.Random(seed)
    yield "strains.barm", STRAINS
    for number in range(logs):
        yield f"{number // 1000:03d}/brew-{number:06d}.barm", brew(number, rng)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=pathlib.Path)
    parser.add_argument("--logs", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--one-file", action="store_true", help="write all logs into one file, season.barm")
    args = parser.parse_args()
    args.folder.mkdir(parents=True, exist_ok=True)
    (args.folder / "barm.toml").write_text("", encoding="utf-8")
    if args.one_file:
        text = "\n".join(text for _, text in season(args.logs, args.seed))
        (args.folder / "season.barm").write_text(text, encoding="utf-8")
        return
    for path, text in season(args.logs, args.seed):
        path = args.folder / path
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
