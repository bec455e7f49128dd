"""Studies shared by the tests of this folder, no finer than their tests need.

The hill-climb demo with its pipes cut coarsely; the others with plenum and exhaust as two volumes.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from blockwright.build.load import load
from blockwright.cache import prepare_compile_cache
from blockwright.gas.mesh import COARSE, LUMPED
from blockwright.life.draw import Draw
from blockwright.life.study import run

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="session")
def build():
    return load(EXAMPLES / "hillclimb_v8.toml")


@pytest.fixture(scope="session")
def study(build):
    prepare_compile_cache()
    return run(build, mesh=COARSE)


@pytest.fixture(scope="session")
def lumped(build):
    prepare_compile_cache()
    return run(build, mesh=LUMPED)


@pytest.fixture(scope="session")
def nitrous():
    prepare_compile_cache()
    return run(load(EXAMPLES / "nitrous_v8.toml"), mesh=LUMPED)


@pytest.fixture(scope="session")
def turbo():
    prepare_compile_cache()
    return run(load(EXAMPLES / "turbo_four.toml"), mesh=LUMPED)


@pytest.fixture(scope="session")
def draw():
    return Draw(300, seed=2)
