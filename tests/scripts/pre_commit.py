"""A repository of logs in which pre-commit stops a commit that underpitches, and lets a sound one pass; with no network.

    python pre_commit.py BARM

Run by a Python that has pre-commit installed beside it.
"""

import os
import pathlib
import shutil
import subprocess
import sys
import tempfile

PROJECT = pathlib.Path(__file__).resolve().parents[2]

THIN = """\
strain heron-lager
  kind         lager
  range        8..12 °C

culture heron-a of heron-lager
  slurry       1 L thick
  harvested    2026-09-02
  kept         4 °C

brew heron-1 "Heron lager, run #1"
  wort         20 L at 1.052
  on 2026-09-04
    17:30  temp 10 °C
    17:40  aerate oxygen 90 s at 1 L/min
    18:00  pitch heron-a 40 mL
  on 2026-09-05  18:00  temp 10 °C, krausen rising
  on 2026-09-06  18:00  temp 10.5 °C
  on 2026-09-07  18:00  temp 10.5 °C
"""

CONFIG = """\
repos:
  - repo: {hooks}
    rev: {rev}
    hooks:
      - id: barm-check
        args: [--baseline, known.ndjson]
"""


def main() -> None:
    barm = pathlib.Path(sys.argv[1]).resolve()
    with tempfile.TemporaryDirectory() as folder:
        work(barm, pathlib.Path(folder))


def work(barm: pathlib.Path, folder: pathlib.Path) -> None:
    programs = folder / "bin"
    programs.mkdir()
    (programs / "barm").symlink_to(barm)
    environment = {
        **os.environ,
        "PATH": os.pathsep.join([str(programs), str(pathlib.Path(sys.executable).parent), os.environ["PATH"]]),
        "PRE_COMMIT_HOME": str(folder / "cache"),
        "GIT_CONFIG_GLOBAL": os.devnull,
        "GIT_CONFIG_NOSYSTEM": "1",
        # Whoever asks the network now gets no answer.
        **{name: "http://127.0.0.1:9" for name in ("http_proxy", "https_proxy", "HTTP_PROXY", "HTTPS_PROXY")},
        "PIP_NO_INDEX": "1",
        "CARGO_NET_OFFLINE": "true",
    }
    for role in ("AUTHOR", "COMMITTER"):
        environment |= {f"GIT_{role}_NAME": "ebba", f"GIT_{role}_EMAIL": "ebba@example.invalid"}

    def run(at: pathlib.Path, *command: str, fails: bool = False) -> str:
        done = subprocess.run(command, cwd=at, env=environment, capture_output=True, text=True)
        said = done.stdout + done.stderr
        if (done.returncode != 0) != fails:
            sys.exit(f"`{' '.join(command)}` ended with {done.returncode}:\n{said}")
        return said

    # The hook as whoever uses it gets it: from a repository with the hook's description.
    hooks = folder / "hooks"
    hooks.mkdir()
    shutil.copy(PROJECT / ".pre-commit-hooks.yaml", hooks)
    run(hooks, "git", "init", "--quiet")
    run(hooks, "git", "add", "--all")
    run(hooks, "git", "commit", "--quiet", "--message", "the hook")
    rev = run(hooks, "git", "rev-parse", "HEAD").strip()

    # An old season with faults of its own, which it may keep.
    logs = folder / "logs"
    shutil.copytree(PROJECT / "demo-logs", logs)
    run(logs, "git", "init", "--quiet")
    run(logs, "barm", "check", "--write-baseline", "known.ndjson")
    (logs / ".pre-commit-config.yaml").write_text(CONFIG.format(hooks=hooks, rev=rev))
    run(logs, "git", "add", "--all")
    run(logs, "pre-commit", "install")
    said = run(logs, "git", "commit", "--message", "the season so far")
    expect("Passed" in said, said)
    before = run(logs, "git", "rev-parse", "HEAD")

    (logs / "autumn.barm").write_text(THIN)
    run(logs, "git", "add", "--all")
    said = run(logs, "git", "commit", "--message", "heron-1", fails=True)
    expect("warning[underpitched]" in said and "autumn.barm:15:12" in said, said)
    expect("1 warning in " in said, said)
    expect(run(logs, "git", "rev-parse", "HEAD") == before, "a commit was made all the same")

    (logs / "autumn.barm").write_text(THIN.replace("40 mL", "320 mL"))
    run(logs, "git", "add", "--all")
    said = run(logs, "git", "commit", "--message", "heron-1, pitched as a lager wants")
    expect("Passed" in said, said)
    expect(run(logs, "git", "rev-parse", "HEAD") != before, "no commit was made")

    # What touches no log is not looked at.
    (logs / "notes.txt").write_text("new hoses\n")
    run(logs, "git", "add", "--all")
    said = run(logs, "git", "commit", "--message", "notes")
    expect("Skipped" in said, said)
    print("pre-commit stopped the thin pitch and let the sound one pass")


def expect(holds: bool, said: str) -> None:
    if not holds:
        sys.exit(said)


main()
