"""What barm does only where a person looks: the bar over a long reading, the clean screen of `--watch`.

    python3 terminal.py BARM
"""

import os
import pathlib
import pty
import select
import signal
import subprocess
import sys
import tempfile

CLEAR = b"\x1b[2J"
HERE = pathlib.Path(__file__).resolve().parent
# Whatever this is run from: a terminal without a name is drawn on by nobody.
NAMED = {**os.environ, "TERM": "xterm"}


def main() -> None:
    barm = pathlib.Path(sys.argv[1]).resolve()
    # Run in the background, this may have been told to ignore what ends the watching; its children would be too.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    with tempfile.TemporaryDirectory() as folder:
        long, short = pathlib.Path(folder) / "long", pathlib.Path(folder) / "short"
        subprocess.run([sys.executable, HERE / "make_season.py", long, "--logs", "1500"], check=True, stdout=subprocess.DEVNULL)
        short.mkdir()
        (short / "a.barm").write_text("brew a\n  wort 20 L at 1.050\n")
        bar(barm, long, short)
        watch(barm, short)
    print("the bar and the clean screen are for a terminal only")


def bar(barm: pathlib.Path, long: pathlib.Path, short: pathlib.Path) -> None:
    command = [barm, "check", "--statistics"]
    seen = on_terminal(command, long)
    assert b" of 15" in seen, seen
    assert seen.rstrip(b"\r\n").endswith((b"\x1b[2K", b"\r")), f"the bar was left standing: {seen[-80:]}"
    assert on_terminal(command, short) == b"", "a bar over nothing"
    piped = subprocess.run(command, cwd=long, capture_output=True)
    assert piped.stderr == b"", piped.stderr


def on_terminal(command: list, folder: pathlib.Path) -> bytes:
    """What a command says on a terminal that is its standard error."""
    ours, theirs = pty.openpty()
    child = subprocess.Popen(command, cwd=folder, stdout=subprocess.DEVNULL, stderr=theirs, env=NAMED)
    os.close(theirs)
    seen = b""
    try:
        while part := os.read(ours, 65536):
            seen += part
    except OSError:
        # The other side has been closed.
        pass
    os.close(ours)
    assert child.wait() in (0, 1)
    return seen


def watch(barm: pathlib.Path, folder: pathlib.Path) -> None:
    ours, theirs = pty.openpty()
    child = subprocess.Popen([barm, "check", "--watch"], cwd=folder, stdout=theirs, stderr=subprocess.PIPE, env=NAMED)
    os.close(theirs)

    def until(words: bytes) -> bytes:
        seen = b""
        while words not in seen:
            assert select.select([ours], [], [], 60)[0], f"nothing more is said: {seen}"
            seen += os.read(ours, 65536)
        return seen

    assert CLEAR in until(b" in 1 log")
    (folder / "b.barm").write_text("brew b\n  nonsense\n")
    assert CLEAR in until(b" in 2 logs")
    child.send_signal(signal.SIGINT)
    assert child.wait() == -signal.SIGINT
    os.close(ours)


main()
