"""Judge a build: run it, sample what is unknown, find what breaks first and where it stops being safe."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import cast

from .. import __version__
from ..build.model import Build
from ..cache import prepare_compile_cache
from ..gas.mesh import COARSE, FINE, Mesh
from . import ceiling as ceilings
from . import evidence, present, quick
from .answer import (
    ceiling_record,
    likely_lines,
    limits_in_order,
    measure_next,
    model_doubt,
    power_text,
    trade_note,
)
from .changes import change_tasks
from .draw import Draw
from .knocking import knock_of
from .levels import over_levels
from .measure import Shares, variance_shares
from .parallel import run_all
from .reliability import Failure, likely_failure
from .shop_units import ShopUnits, shop_units
from .study import Sampled, Say, Study, run, silent
from .verdict import SCHEMA, Assumption, Evidence, Quantity, Reinforcement, Verdict
from .words import CAUTIONS, not_modelled, percent, sentence


def judge(build: Build, samples: int = 1000, seed: int = 1, preview: bool = False) -> Verdict:
    """Will this block live for its duty, what goes first, and at what power does it stop being safe?

    Parameters
    ----------
    build : Build
        From `load`.
    samples : int
        Draws of what is unknown.
    seed : int
        The same seed gives the same verdict.
    preview : bool
        Cut the pipes coarsely: quicker, and nearly as good.

    Returns
    -------
    Verdict

    Raises
    ------
    InputError, OutsideValidity
        When the build cannot be computed as described.
    NotSettled
        When an iteration did not settle; no figure of it is used.
    """
    return _judged(build, samples, seed, silent, _mesh(preview))[0]


def _mesh(preview: bool) -> Mesh:
    return COARSE if preview else FINE


def judge_with_evidence(
    build: Build, samples: int = 1000, seed: int = 1, say: Say = silent, preview: bool = False
) -> tuple[Verdict, Evidence]:
    """The verdict, and the curves and dimensions that its report draws."""
    verdict, sampled = _judged(build, samples, seed, say, _mesh(preview))
    return verdict, evidence.evidence(sampled.study, sampled.draw, shop_units(build))


def judge_aloud(
    build: Build, samples: int = 1000, seed: int = 1, say: Say = silent, preview: bool = False
) -> Verdict:
    """The verdict alone, with progress lines."""
    return _judged(build, samples, seed, say, _mesh(preview))[0]


def _judged(build: Build, samples: int, seed: int, say: Say, mesh: Mesh) -> tuple[Verdict, Sampled]:
    prepare_compile_cache()
    units = shop_units(build)
    study = run(build, say, mesh)
    knocks = [knock_of(operation.cycle) for operation in study.levels[study.wanted].operations]
    say("Sampling what is unknown")
    draw = Draw(samples, seed)
    sampled = Sampled(study, draw)
    accepted = build.si("target.survival")
    found, checked = over_levels(sampled, accepted)
    study = sampled.study
    survival = found.survival(study.levels[study.wanted].power)
    limits = limits_in_order(found, units, build)
    say("Trying the changes that can be computed")
    first = next(limit for limit in found.limits if limit.identity.id == limits[0].id)
    tasks: list[Callable[[], object]] = [partial(likely_failure, study, first, draw)]
    tasks += change_tasks(sampled, found, units, accepted)
    results = run_all(tasks)
    failure = cast("Failure | None", results[0])
    if failure is not None:
        limits = (present.with_beta(limits[0], failure.point.beta), *limits[1:])
    ceiling = ceiling_record(study, found, units, accepted, checked)
    shares = variance_shares(draw, found.system)
    lives = survival >= accepted
    power = units.quantity(build.si("target.power"), "W")
    verdict = Verdict(
        schema=SCHEMA,
        name=build.name,
        invented=build.invented,
        sentence=sentence(power, survival, accepted, limits[0], ceiling, lives),
        lives=lives,
        accepted=accepted,
        survival=survival,
        power=_power(build, units),
        peak_pressure=present.peak_pressure(sampled, units),
        points=present.points(study, draw, units, knocks),
        limits=limits,
        governing=limits[0],
        ceiling=ceiling,
        reinforcements=cast("tuple[Reinforcement, ...]", tuple(results[1:])),
        measure_next=measure_next(build, shares.inputs),
        assumptions=tuple(Assumption(a.path, a.value, a.why) for a in build.assumptions),
        not_modelled=not_modelled(build),
        warnings=(
            *present.warnings(study, units, knocks),
            *model_doubt(failure, limits[0]),
            *trade_note(limits[0], build),
        ),
        quick_numbers=quick.quick_numbers(study, units),
        cautions=CAUTIONS,
        method=_method(study, draw, survival, shares, units) | likely_lines(failure),
        version=__version__,
    )
    return verdict, sampled


def _method(study: Study, draw: Draw, survival: float, shares: Shares, units: ShopUnits) -> dict[str, str]:
    """How the figures were made, line by line."""
    samples = draw.rows - 1
    mesh, cycle = study.engine.mesh, study.cycle
    cut = f"{mesh.name}: {1e3 * mesh.intake:.0f} mm intake, {1e3 * mesh.exhaust:.0f} mm exhaust"
    return {
        "gas model's mesh": "no pipes" if mesh.lumped else cut,
        "cycle-to-cycle variation of the peak pressure": percent(
            study.scatter * study.build.si("spark.variation")
        ),
        "balances of the gas cycle": f"mass {cycle.mass_residual:.1e}, energy {cycle.energy_residual:.1e}",
        "samples": str(samples),
        "seed": str(draw.seed),
        "standard error of the chance": f"{ceilings.standard_error(survival, samples):.4f}",
        "charge levels": ", ".join(f"{level.charge:.3g}" for level in study.levels),
        "power at those levels": ", ".join(power_text(units, level.power) for level in study.levels),
        "share of the doubt from models": percent(min(shares.models, 1.0)),
        "share of the doubt from catalogue figures": percent(min(shares.catalogue, 1.0)),
        "largest error of a pressure surface on its design": f"{100 * present.surface_error(study):.2f} %",
    }


def _power(build: Build, units: ShopUnits) -> Quantity:
    value = build.values["target.power"]
    return units.normal(value.si, value.u, "W")
