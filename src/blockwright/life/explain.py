"""How one figure of the verdict came about, down to every input."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass

from ..build.model import Build
from ..cache import prepare_compile_cache
from ..errors import Fault, InputError
from ..trace import Node, Traced
from . import evaluate
from .draw import Draw
from .leaves import TracedLeaves
from .study import Say, Study, run, silent


@dataclass(frozen=True)
class Explanation:
    """One limit of the nominal engine, replayed under the tracer.

    Attributes
    ----------
    id, name, place, kind, unit, source : str
    notes : tuple of str
    demand, capacity, margin : Node
        Trees of formulas and leaves; their values are those of the verdict.
    split : mapping of str to Node
        Causes of the demand.
    """

    id: str
    name: str
    part: str
    place: str
    kind: str
    unit: str
    source: str
    notes: tuple[str, ...]
    demand: Node
    capacity: Node
    margin: Node
    split: Mapping[str, Node]


def _traced_limits(study: Study) -> dict[str, evaluate.Evaluated]:
    level = study.levels[study.wanted]
    nominal = Draw(1)
    ctx = TracedLeaves(study.build, study.kernels(level, nominal), key=f"charge {level.charge:g}")
    found = evaluate.evaluate(ctx, study.build, 1)
    return {limit.identity.id: limit for limit in found}


def explain_in(study: Study, limit: str) -> Explanation:
    """Explain one limit of a study.

    Raises
    ------
    InputError
        When there is no such limit; names the nearest ids.
    """
    limits = _traced_limits(study)
    if limit not in limits:
        near = difflib.get_close_matches(limit, limits, n=3, cutoff=0.4) or sorted(limits)[:3]
        raise InputError(
            Fault("limit", repr(limit), f"give the id of a limit of this build, such as {', '.join(near)}")
        )
    found = limits[limit]
    return Explanation(
        id=limit,
        name=found.identity.name,
        part=found.identity.part,
        place=found.identity.place,
        kind=found.kind,
        unit=found.unit,
        source=found.identity.source,
        notes=found.identity.notes,
        demand=_node(found.demand),
        capacity=_node(found.capacity),
        margin=_node(found.margin),
        split={cause: _node(value) for cause, value in found.split.items()},
    )


def _node(value: object) -> Node:
    if not isinstance(value, Traced):
        raise TypeError("a limit was made outside registered formulas; it cannot be explained")
    return value.node


def explain(build: Build, limit: str, say: Say = silent) -> Explanation:
    """Run the build and explain one of its limits."""
    prepare_compile_cache()
    return explain_in(run(build, say), limit)


def limit_ids(build: Build) -> list[str]:
    """Ids of all limits of a build."""
    prepare_compile_cache()
    return sorted(_traced_limits(run(build)))
