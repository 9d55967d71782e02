"""`editors/neovim` in Neovim itself, this year's and Debian 12's: what neovim.lua and neovim_types.lua do and find."""

import os
import pathlib
import subprocess
import sys

import pytest
from conftest import REPOSITORY

NEOVIMS = {"0.11": pathlib.Path(sys.executable).parent / "nvim", "0.7": pathlib.Path("/usr/bin/nvim")}


def run_neovim(version, script, commands, folder, places, tmp_path, **variables) -> subprocess.CompletedProcess:
    own = {name: str(tmp_path / name) for name in ["XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME"]}
    return subprocess.run(
        [NEOVIMS[version], "--headless", "-u", "NORC", "-i", "NONE", "-n"]
        + [part for command in commands for part in ("--cmd", command)]
        + ["-c", f"luafile {pathlib.Path(__file__).with_name(script)}"],
        cwd=folder,
        env={**os.environ, **own, **variables, "PATH": f"{places}:/usr/bin:/bin"},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=180,
        check=False,
    )


@pytest.mark.parametrize("set_by", ["PATH", "the user's setting"])
@pytest.mark.parametrize("version", NEOVIMS)
def test_neovim(version, set_by, barm, season, tmp_path):
    for trap in [season / "barm", season / "ales" / "barm"]:
        trap.write_text("#!/bin/sh\ntouch was-run\n")
        trap.chmod(0o755)
    places = tmp_path / "bin"
    places.mkdir()
    commands = [f"lua vim.opt.runtimepath:append({str(REPOSITORY / 'editors/neovim')!r})"]
    if set_by == "PATH":
        (places / "barm").symlink_to(barm)
    else:
        commands.append(f"lua vim.g.barm_command = {{ {barm!r}, 'serve' }}")
    run = run_neovim(version, "neovim.lua", commands, season, places, tmp_path)
    assert run.returncode == 0, run.stdout + run.stderr
    assert not list(season.rglob("was-run"))
    assert "the server ends when it is told" in run.stderr


def test_a_brewer_types_a_log(barm, tmp_path):
    """From an empty file in insert mode, with the slips that people make, to a log that the command line finds sound."""
    cellar, places = tmp_path / "cellar", tmp_path / "bin"
    cellar.mkdir()
    places.mkdir()
    (places / "barm").symlink_to(barm)
    config = {"NEOVIM_CONFIG": str(REPOSITORY / "editors/neovim")}
    run = run_neovim("0.11", "neovim_types.lua", [], cellar, places, tmp_path, **config)
    assert run.returncode == 0, run.stdout + run.stderr
    checked = subprocess.run([barm, "check", "--fail-on", "warning", cellar], capture_output=True, text=True, check=False)
    assert checked.returncode == 0, checked.stdout
    formatted = subprocess.run([barm, "fmt", "--check", cellar], capture_output=True, text=True, check=False)
    assert formatted.returncode == 0, formatted.stdout
