"""One study of the hill-climb demo, shared by the tests of this folder: the runs take a second or two."""

from __future__ import annotations

from pathlib import Path

import pytest

from blockwright.build.load import load
from blockwright.cache import prepare_compile_cache
from blockwright.life.draw import Draw
from blockwright.life.study import run

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="session")
def build():
    return load(EXAMPLES / "hillclimb_v8.toml")


@pytest.fixture(scope="session")
def study(build):
    prepare_compile_cache()
    return run(build)


@pytest.fixture(scope="session")
def draw():
    return Draw(300, seed=2)
