"""The demo builds load, hang together, and are what their heads say."""

from __future__ import annotations

import itertools
import math
from pathlib import Path

import numpy as np
import pytest

import blockwright.build as building
from blockwright.build import catalogue
from blockwright.build.firing import firing
from blockwright.build.model import Build
from blockwright.errors import InputError

EXAMPLES = Path(__file__).parents[2] / "examples"
DEMOS = ("hillclimb_v8", "turbo_four", "dragboat_v8")
#: Shorter demos: a system each that the others lack, on a block that was hardly measured.
SYSTEMS = ("nitrous_v8", "blown_methanol_v8")


@pytest.fixture(scope="module")
def builds() -> dict[str, Build]:
    return {name: building.load(EXAMPLES / f"{name}.toml") for name in (*DEMOS, *SYSTEMS, "minimal")}


def swept(build: Build) -> float:
    """Swept volume of one cylinder [m3]."""
    return math.pi / 4.0 * build.si("casting.bore") ** 2 * build.si("crank.stroke")


@pytest.mark.parametrize(
    ("name", "litres"),
    [
        *(("hillclimb_v8", 4.9), ("turbo_four", 2.2), ("dragboat_v8", 8.6)),
        *(("nitrous_v8", 5.7), ("blown_methanol_v8", 7.3)),
    ],
)
def test_displacement_is_what_the_name_says(builds: dict[str, Build], name: str, litres: float) -> None:
    build = builds[name]
    assert swept(build) * build.count("layout.cylinders") * 1e3 == pytest.approx(litres, rel=0.01)


@pytest.mark.parametrize("name", [*DEMOS, *SYSTEMS])
def test_marked_invented(builds: dict[str, Build], name: str) -> None:
    assert builds[name].invented
    head = (EXAMPLES / f"{name}.toml").read_text(encoding="utf-8").splitlines()[0]
    assert "INVENTED" in head


@pytest.mark.parametrize("name", DEMOS)
def test_piston_reaches_the_deck(builds: dict[str, Build], name: str) -> None:
    """Deck height = stroke/2 + rod + compression height + deck clearance, to 1 um."""
    build = builds[name]
    parts = ("rods.length", "pistons.compression_height", "pistons.deck_clearance")
    stack = build.si("crank.stroke") / 2.0 + sum(build.si(path) for path in parts)
    assert stack == pytest.approx(build.si("casting.deck_height"), abs=1e-6)


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        *(("hillclimb_v8", 10.5, 12.5), ("turbo_four", 8.5, 9.2), ("dragboat_v8", 10.5, 12.5)),
        *(("nitrous_v8", 9.0, 10.5), ("blown_methanol_v8", 7.5, 9.0)),
    ],
)
def test_compression_ratio_suits_the_engine(
    builds: dict[str, Build], name: str, low: float, high: float
) -> None:
    build = builds[name]
    bore, gasket = build.si("casting.bore"), build.si("heads.gasket_bore")
    left = build.si("heads.chamber_volume") + build.si("pistons.dish")
    left += math.pi / 4.0 * bore**2 * build.si("pistons.deck_clearance")
    left += math.pi / 4.0 * gasket**2 * build.si("heads.gasket_thickness")
    assert low <= 1.0 + swept(build) / left <= high


@pytest.mark.parametrize("name", DEMOS)
def test_walls_fit_between_the_bores(builds: dict[str, Build], name: str) -> None:
    """Neighbours' walls along the crank do not overlap (no bores cast together)."""
    build = builds[name]
    walls = build.walls()
    along = np.abs(np.sin(walls.angle))
    widest = (walls.thickness * along).max()
    assert build.si("casting.bore") + 2.0 * widest <= build.si("casting.bore_spacing") + 1e-9


@pytest.mark.parametrize("name", DEMOS)
def test_wall_map_is_whole_and_shows_core_shift(builds: dict[str, Build], name: str) -> None:
    walls = builds[name].walls()
    cylinders, depths, angles = walls.thickness.shape
    assert cylinders == builds[name].count("layout.cylinders")
    assert 3 <= depths <= 4
    assert 4 <= angles <= 8
    assert walls.measured.all()
    assert (walls.thickness > 2.5e-3).all()
    # one side thick, the other thin, in every cylinder; and one place thinner than all others
    mean = walls.thickness.mean(axis=1)
    assert (mean.max(axis=1) - mean.min(axis=1) > 0.1 * mean.mean(axis=1)).all()
    two = np.sort(walls.thickness.ravel())[:2]
    assert two[0] < 0.95 * two[1]


@pytest.mark.parametrize("name", DEMOS)
def test_firing_order_is_possible_on_the_crank(builds: dict[str, Build], name: str) -> None:
    build = builds[name]
    kind = build.word("layout.kind")
    between = math.degrees(build.si("layout.bank_angle")) if kind == "V" else 0.0
    throws = np.degrees(build.array("layout.throws")).round(9).tolist()
    found = firing(
        kind, build.count("layout.cylinders"), build.numbers("layout.firing_order"), between, throws
    )
    assert not isinstance(found, str)
    assert found.even


@pytest.mark.parametrize("name", DEMOS)
def test_figures_carry_their_gauge_and_spread(builds: dict[str, Build], name: str) -> None:
    build = builds[name]
    gauges = {value.gauge for value in build.values.values() if value.gauge}
    for word in ("ultraso", "bore gauge", "micrometer", "scale", "Brinell", "burette"):
        assert any(word in gauge for gauge in gauges), word
    measured = [v for v in build.values.values() if v.by == "measured"]
    assert len(measured) > 20
    assert all(value.u > 0.0 for value in measured)


@pytest.mark.parametrize("name", [*DEMOS, *SYSTEMS])
def test_main_bore_holds_the_journal_and_its_shells(builds: dict[str, Build], name: str) -> None:
    """Shells of 1.5 to 3 mm and a clearance of .0008 to .0015 of the journal are usual (common practice)."""
    build = builds[name]
    gap = 0.5 * (build.si("casting.main_bore") - build.si("crank.main_journal"))
    assert 1.5e-3 < gap < 3.2e-3
    inner = 0.5 * build.si("caps.span")
    assert inner > 0.5 * build.si("casting.main_bore")


@pytest.mark.parametrize("name", [*DEMOS, *SYSTEMS])
def test_power_wanted_is_within_reach(builds: dict[str, Build], name: str) -> None:
    """Mean effective pressure at the target: 10-16 bar breathing freely, 14-28 bar charged."""
    build = builds[name]
    volume = swept(build) * build.count("layout.cylinders")
    pressure = build.si("target.power") / (volume * build.si("target.speed") / (4.0 * math.pi))
    low, high = (10e5, 16e5) if build.word("boost.kind") == "none" else (14e5, 28e5)
    assert low < pressure < high


@pytest.mark.parametrize("name", DEMOS)
def test_pipes_are_measured_not_assumed(builds: dict[str, Build], name: str) -> None:
    build = builds[name]
    own = ("intake.runner_length", "intake.runner_diameter", "exhaust.primary_length")
    for path in (*own, "heads.intake.port_length", "heads.exhaust.port_diameter"):
        assert build.value(path).by == "measured"


def test_systems_are_what_their_heads_say(builds: dict[str, Build]) -> None:
    nitrous, blown = (builds[name] for name in SYSTEMS)
    assert nitrous.has("nitrous")
    assert nitrous.count("intake.plenums") == 2
    assert nitrous.si("exhaust.crossover_diameter") > 0.0
    assert len(nitrous.groups("exhaust.secondary_groups")) == 4
    assert blown.word("blower.principle") == "lobe"
    assert blown.word("fuel.kind") == "methanol"
    assert builds["turbo_four"].file("turbo.compressor_map").is_file()


@pytest.mark.parametrize("name", [*DEMOS, *SYSTEMS])
def test_duty_shares_add_up(builds: dict[str, Build], name: str) -> None:
    shares = builds[name].array("duty.points", "share")
    assert shares.sum() == pytest.approx(1.0, abs=1e-12)


def test_demos_between_them_use_what_the_file_offers(builds: dict[str, Build]) -> None:
    """Two and four bolts, torque and angle, plenum at rest and boosted, V and inline, passes and hours."""
    seen = {
        (path, builds[name].choice(path))
        for name, path in itertools.product(
            DEMOS, ("caps.pattern", "boost.kind", "layout.kind", "main_fasteners.tighten", "duty.kind")
        )
    }
    assert {("caps.pattern", "two-bolt"), ("caps.pattern", "four-bolt-splayed")} <= seen
    assert {("boost.kind", "none"), ("boost.kind", "turbo")} <= seen
    assert {("layout.kind", "V"), ("layout.kind", "inline")} <= seen
    assert {("main_fasteners.tighten", "torque"), ("main_fasteners.tighten", "angle")} <= seen
    assert {("duty.kind", "passes"), ("duty.kind", "hours")} <= seen
    for name in DEMOS:
        assert builds[name].word("casting.material") in catalogue.names("metal")


MINIMAL = (EXAMPLES / "minimal.toml").read_text(encoding="utf-8").splitlines()
NEEDED = [line for line in MINIMAL if "=" in line and not line.startswith(("#", "name", "invented"))]


@pytest.mark.parametrize("line", NEEDED)
def test_the_minimal_build_states_only_what_it_must(line: str, tmp_path: Path) -> None:
    """Without any one of its lines it is refused, and the message names the field."""
    short = tmp_path / "short.toml"
    short.write_text("\n".join(other for other in MINIMAL if other != line), encoding="utf-8")
    with pytest.raises(InputError) as refusal:
        building.load(short)
    assert line.split(" = ")[0] in str(refusal.value)


def test_the_minimal_build_shows_what_it_assumes(builds: dict[str, Build]) -> None:
    assert len(builds["minimal"].assumptions) > 40
