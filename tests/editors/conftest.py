"""Each test is given an editor with a copy of the demo season, one editor after the other."""

import os
import pathlib
import shutil

import pytest
import pytest_asyncio

from editor import Editor
from profiles import profiles

REPOSITORY = pathlib.Path(__file__).parents[2]
SEASON = REPOSITORY / "demo-logs"
PROFILES = [pytest.param(*profile[1:], id=f"{profile[0]}, {profile[1]}") for profile in profiles()]


@pytest.fixture(scope="session")
def barm() -> str:
    """The program that is tried, from the variable BARM."""
    program = pathlib.Path(os.environ["BARM"]).resolve()
    assert program.is_file(), f"{program} is not there: cargo build --release"
    return str(program)


@pytest.fixture
def season(tmp_path) -> pathlib.Path:
    # The space and the letter beyond ASCII must survive being a part of a URI.
    return pathlib.Path(shutil.copytree(SEASON, tmp_path / "Kühler Keller"))


@pytest_asyncio.fixture(params=None)
async def editor(barm, season, request):
    encoding, capabilities = request.param
    editor = Editor(barm, season, capabilities, encoding)
    await editor.start()
    yield editor
    if editor.process.returncode is None:
        assert await editor.quit() == 0
    faults = editor.referee.verdict()
    assert not faults, "\n".join(faults[:20])


def pytest_generate_tests(metafunc):
    if "editor" in metafunc.fixturenames:
        params = [pytest.param(profile.values, id=profile.id) for profile in PROFILES]
        metafunc.parametrize("editor", params, indirect=True)
