"""From the words and figures of a build to the preload of its fasteners."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.build import catalogue
from blockwright.errors import InputError
from blockwright.joints import clamp
from blockwright.trace import Traced

from .bench import FOOT_POUND, BenchBuild, BenchLeaves, BenchTracer

SECTIONS = ("main_fasteners", "outer_fasteners", "head_fasteners", "rod_bolts")


def bench(**changes):
    build = BenchBuild()
    build.choices.update({key.replace("__", "."): word for key, word in changes.items()})
    return build


@pytest.mark.parametrize("section", SECTIONS)
@pytest.mark.parametrize("way", ["torque", "angle", "stretch"])
@pytest.mark.parametrize("kind", ["bolt", "stud"])
def test_every_joint_and_way_gives_a_preload_below_yield_and_can_be_explained(section, way, kind):
    build = bench(**{f"{section}__tighten": way, f"{section}__kind": kind})
    leaves = BenchLeaves(build, 200)
    preload = clamp.fastener_preload(leaves, build, section)
    assert preload.shape == (200, 1, 1, 1)
    assert np.all(preload > 5e3)
    assert np.all(preload < clamp.yield_limit(leaves, build, section))
    traced = clamp.fastener_preload(BenchTracer(build), build, section)
    assert isinstance(traced, Traced)
    assert_allclose(traced.value, preload[:1], rtol=1e-12)


def test_the_bench_bolt_by_hand():
    """1/2-13, 100 lbf ft, friction .13: torque over lever, less 7 um of settling over d_S + d_P."""
    build = bench()
    d, p = 12.7e-3, 25.4e-3 / 13
    d2 = d - 0.649519 * p
    lever = p / (2 * np.pi) + 0.13 * d2 / (2 * np.cos(np.pi / 6)) + 0.13 * 1.25 * d / 2
    tightened = 100 * FOOT_POUND / lever
    ours = clamp.fastener_preload(BenchLeaves(build), build, "main_fasteners").item()
    assert 0.94 * tightened < ours < 0.99 * tightened


def test_a_stud_turns_its_nut_on_the_fine_thread():
    assert clamp.turned_thread(bench(), "main_fasteners") == "1/2-13"
    assert clamp.turned_thread(bench(main_fasteners__kind="stud"), "main_fasteners") == "1/2-20"
    metric = bench(main_fasteners__kind="stud", main_fasteners__thread="M12x1.75")
    assert clamp.turned_thread(metric, "main_fasteners") == "M12x1.75"
    named = bench(main_fasteners__kind="stud", main_fasteners__nut_thread="1/2-28")
    assert clamp.turned_thread(named, "main_fasteners") == "1/2-28"


def test_a_stud_holds_more_for_its_torque_and_scatters_less():
    drawn = {}
    for kind in ("bolt", "stud"):
        build = bench(main_fasteners__kind=kind)
        drawn[kind] = np.log(clamp.fastener_preload(BenchLeaves(build, 4000), build, "main_fasteners"))
    assert drawn["stud"].flat[0] > drawn["bolt"].flat[0]
    assert drawn["stud"].std() < drawn["bolt"].std()


def test_clamp_of_a_cap_adds_its_fasteners():
    two = bench()
    leaves = BenchLeaves(two)
    inner = clamp.fastener_preload(leaves, two, "main_fasteners")
    outer = clamp.fastener_preload(leaves, two, "outer_fasteners")
    assert_allclose(clamp.cap_clamp(leaves, two, 3), 2 * inner)
    straight = bench(caps__pattern="four-bolt-straight")
    assert_allclose(clamp.cap_clamp(leaves, straight, 3), 2 * inner + 2 * outer)
    splayed = bench(caps__pattern="four-bolt-splayed", caps__four_bolt_mains=(2, 3, 4))
    assert_allclose(
        clamp.cap_clamp(leaves, splayed, 3), 2 * inner + 2 * outer * np.cos(np.radians(20)), rtol=1e-12
    )
    assert_allclose(clamp.cap_clamp(leaves, splayed, 1), 2 * inner)


def test_refuses_what_it_does_not_know():
    build = bench(main_fasteners__tighten="by feel")
    with pytest.raises(InputError, match=r"by feel.*torque, angle or stretch"):
        clamp.fastener_preload(BenchLeaves(build), build, "main_fasteners")
    with pytest.raises(InputError, match="sump_bolts"):
        clamp.fastener_preload(BenchLeaves(build), build, "sump_bolts")


def test_every_constant_of_the_joints_says_where_it_is_from():
    own = [row for name, row in catalogue.rows("model").items() if name.startswith(("joint.", "bolt_hole."))]
    assert len(own) > 10
    for row in own:
        assert row.text("meaning")
        assert row.source
        assert row.status in catalogue.STATUSES
