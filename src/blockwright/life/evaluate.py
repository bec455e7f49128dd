"""Every way the engine can break, as demand against capacity on the rows of a draw."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..build.model import Build
from ..parts import caps, fasteners, head, pistons, rods, walls, web
from ..parts.cases import Fatigue, Identity, Leaves, SingleEvent
from ..trace import Array, Traced, Value, formula
from . import fatigue

Case = Fatigue | SingleEvent
Module = Callable[[Leaves, Build], Sequence[Case]]

#: Limit modules by the group whose inputs they read, in the order of the load's path.
MODULES: Mapping[str, tuple[Module, ...]] = {
    "bores": (walls.limits,),
    "head": (head.limits,),
    "rods": (rods.limits, pistons.limits),
    "bulkheads": (web.limits,),
    "mains": (caps.limits, fasteners.limits),
}
GROUPS = tuple(MODULES)


@formula(symbol="margin", unit="1", equation="margin = capacity / demand", source="definition")
def margin(demand: Value, capacity: Value) -> Value:
    """Factor by which the demand may rise before it meets the capacity.

    A demand of zero (nothing pulls) gives the largest margin shown, 1000.
    """
    return np.clip(capacity / np.maximum(demand, 1e-3 * np.abs(capacity) + 1e-300), 1e-3, 1e3)


@dataclass(frozen=True)
class Evaluated:
    """One limit on the rows of a draw; row 0 is the nominal engine.

    group : key of `MODULES`.
    kind : ``"fatigue"``, ``"single event"`` or ``"guide"`` (a limit of use, not of breaking).
    demand, capacity, margin : values (arrays of shape (rows,), or traced).
    """

    identity: Identity
    group: str
    kind: str
    unit: str
    demand: Value
    capacity: Value
    margin: Value
    split: Mapping[str, Value]

    @property
    def breaks(self) -> bool:
        """Whether passing this limit breaks the engine."""
        return self.kind != "guide"


def _flat(value: Value, rows: int) -> Value:
    if isinstance(value, Traced):
        return value
    return np.broadcast_to(np.asarray(value, dtype=float).reshape(-1), (rows,))


def evaluate_case(case: Case, ctx: Leaves, rows: int, group: str) -> Evaluated:
    """Demand, capacity and margin of one case."""
    if isinstance(case, Fatigue):
        cycles, weights = ctx.kernel("duty_cycles"), ctx.kernel("cycle_weights")
        if case.identity.place.startswith("main "):
            cycles = fatigue.load_cycles(cycles, ctx.kernel("load_pulses", case.identity.place))
        demand, capacity = fatigue.case_demand(case, cycles, weights), case.strength
        kind, unit = "fatigue", "Pa"
    else:
        demand, capacity, unit = case.demand, case.capacity, case.unit
        kind = "single event" if case.breaks else "guide"
    return Evaluated(
        case.identity,
        group,
        kind,
        unit,
        _flat(demand, rows),
        _flat(capacity, rows),
        _flat(margin(demand, capacity), rows),
        {cause: _flat(value, rows) for cause, value in case.split.items()},
    )


def evaluate(ctx: Leaves, build: Build, rows: int, groups: Collection[str] = GROUPS) -> list[Evaluated]:
    """All limits of the given groups."""
    return [
        evaluate_case(case, ctx, rows, group)
        for group in GROUPS
        if group in groups
        for module in MODULES[group]
        for case in module(ctx, build)
    ]


def evaluate_one(ctx: Leaves, build: Build, rows: int, limit: Evaluated) -> Evaluated:
    """One limit again; only the modules of its group are run, up to the one that has it."""
    for module in MODULES[limit.group]:
        for case in module(ctx, build):
            if case.identity.id == limit.identity.id:
                return evaluate_case(case, ctx, rows, limit.group)
    raise KeyError(limit.identity.id)


def margins(found: Sequence[Evaluated]) -> dict[str, Array]:
    """Margins by limit id, of those limits whose passing breaks the engine."""
    return {limit.identity.id: limit.margin for limit in found if limit.breaks}
