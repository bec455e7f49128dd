"""A value outside a formula's range is named beside every figure that rests on it."""

from __future__ import annotations

from blockwright.life.ranges import outside
from blockwright.life.shop_units import shop_units


def texts(build):
    return [left.text for left in outside(build, shop_units(build))]


def test_a_build_within_all_ranges_but_its_thin_walls(build):
    assert [text.split()[0] for text in texts(build)] == ["walls"]


def test_hardness_friction_and_piston_speed_are_named(build):
    changed = build.with_changes(
        {
            "casting.hardness": "330 HB",
            "main_fasteners.thread_friction": "0.38",
            "duty.points": [{"speed": "11000 rpm", "load": 1.0, "share": 1.0}],
            "target.speed": "4000 rpm",
            "target.power": "250 hp",
            "duty.events.missed_shift.speed": "11500 rpm",
        }
    )
    found = outside(changed, shop_units(changed))
    words = " | ".join(left.text for left in found)
    for part in (
        "casting.hardness 330 HB",
        "thread_friction 0.38",
        "27.5 m/s",
        "11000 rpm is outside a factor",
    ):
        assert part in words, words


def test_only_the_limits_that_rest_on_it_are_touched(build):
    changed = build.with_changes({"caps.hardness": "330 HB"})
    hard = next(left for left in outside(changed, shop_units(changed)) if "caps.hardness" in left.text)
    assert hard.touches("cap-crown-main-3")
    assert not hard.touches("wall-burst-cylinder-1")
