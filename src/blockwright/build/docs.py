"""``docs/build-file.md``, written from the model, the default rules and the spread rules.

``python -m blockwright.build.docs docs/build-file.md`` writes it.
"""

from __future__ import annotations

import sys
import typing
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from ..unit_table import DIMENSIONS
from .defaults import RULES
from .quantity import Pairs, Quantity, Series, WallRows
from .rules import Many, Rule
from .spread import CATALOGUE, FLOORS, GAUGES
from .walk import Leaf, leaves

_HEAD = """\
# The build file

*Written by `python -m blockwright.build.docs docs/build-file.md` from the model itself; a test holds it
current.*

A build is one TOML file, `format = 1`. `blockwright new` writes one to start from; its JSON Schema is
`docs/build-file.schema.json`. About a dozen fields are required (marked **given**). Every other field has
a default by the rule below, and every default taken is listed among the verdict's assumptions.

## Quantities
A quantity is text: a number and its unit, `"4.030 in"`, `"4 1/8 in"`, `"102.4 mm"`, `"75 lbf*ft"`, `"60
degF"`. A missing or wrong unit is an error; plain numbers (`0.87`, `"87 %"`) stand without one. Inside,
all is SI, angles in rad, turning speeds in rad/s.

A value may say how it is known, in a table:

```toml
bore = { value = "4.030 in", by = "measured", gauge = "bore gauge", u = "0.0002 in", note = "after honing" }
```

`by` is `measured` (when left out), `catalogue` or `assumed`. `u` is one standard uncertainty, in a unit
or in per cent of the value; of a temperature it is a difference.

## Spread where no `u` is given
- **Measured with a gauge named below** (its name anywhere in `gauge`): the gauge's usual standard
  uncertainty, and never less than the last written digit over the root of 12.
- **Measured otherwise:** one unit of the last written digit either way, evenly likely, so that `4.030 in`
  is known to 0.001 in over the root of 3, and never better than the least value below. A fraction counts
  as 1/64 at most.
- **Catalogue:** the table below.
- **Assumed:** that of the field's default rule, else 10 %.
- **Chosen** fields (marked *chosen*) are decided, not found out, and have none.

A positive value with a spread over 10 % is lognormal, every other normal. These figures are common
practice, no source; give `u` where you know better.
"""

_TAIL = """
## Layout and angles
Angles count in the direction in which the crank turns. `layout.throws` gives each crankpin's angle ahead
of the first, front to rear; `layout.split` sets the second half of each pin back. Bank A is the bank of
cylinder 1. The same order can fire on cranks that turn from bank A to bank B or the other way; the firing
order tells which. When `throws` is left out the crank that fires the order evenly is taken, provided such
cranks are common; otherwise it must be given.

## Wall readings
```toml
[casting.walls]
gauge = "ultrasonic"
u = "0.002 in"
angles = ["0 deg", "90 deg", "180 deg", "270 deg"]
depths = ["0.8 in", "2.7 in", "4.5 in"]
thickness.1 = ["0.215 0.190 0.221 0.187 in", "0.211 0.188 0.219 0.186 in", "0.208 0.187 0.215 0.186 in"]
```
In code a reading stands at `casting.walls.<cylinder>.<depth index>.<angle index>`, indices from 0;
`build.walls()` gives all as arrays. Readings without `u` are taken as no
better than an ultrasonic gauge's. Cylinders that were not read take the mean of those that were.

## Pipes
The air's way: the air outside (or what a charger delivers), the pipe before the throttle if there is one,
throttle, plenum, runner and port, valve; with `intake.layout = "individual"` each runner starts at its
own bell mouth and throttle. The gas's way: valve, port and primary, `exhaust.secondary_groups` where
pipes meet first, the collector of each of `exhaust.groups`, tail, open air; a crossover joins two tails.
With `exhaust.layout = "log"` stubs lead into a still volume a group. With a turbo the way ends in a
volume before the turbine, and what stands behind it is told by `turbo.back_loss`. Diameters are inside
ones; a port or runner that is not round counts as the round one of its area. `intake.plenum_volume`,
`intake.throttle_diameter`, `exhaust.volume` and `exhaust.outlet_diameter` serve the model without pipes
too; before a turbine `exhaust.volume` is that of ports, manifold and housing.

## What is fitted
`[turbo]`, `[blower]` and `[nitrous]` stand in a file only when they are fitted; even an empty `[turbo]`
counts, and takes every default. `boost.pressure` is then what is wanted; temperature and back-pressure are
computed, so they must not be given. A map is named relative to the build file.

## Formats to come
A later format reads older files through pure functions in `build/upgrades.py`; a frozen sample of every
format is kept in `tests/build/samples`. A file of a newer format than the program knows is refused.
"""


def _rules() -> dict[str, Rule | Many]:
    return {rule.path: rule for rule in RULES}


def _kind(leaf: Leaf) -> str:
    reader = leaf.reader
    if isinstance(reader, Quantity):
        bounds = f"{reader.low or 'any'} to {reader.high or 'any'}"
        chosen = ", *chosen*" if reader.chosen else ""
        return f"{reader.dimension}, {bounds}{chosen}"
    if isinstance(reader, Series):
        return f"list of {reader.each.dimension}s, {reader.each.low} to {reader.each.high}"
    if isinstance(reader, Pairs):
        return f"pairs of {reader.first.dimension} and {reader.second.dimension}"
    if isinstance(reader, WallRows):
        return "lines of lengths by cylinder"
    if len(leaf.words) > 1:
        return ", ".join(f"`{word}`" for word in leaf.words)
    if leaf.table:
        return f"row of table {leaf.table}"
    if leaf.words:
        return f"`{leaf.words[0]}`"
    plain = {
        "lists": "lists of whole numbers, one a group",
        "list": "list of whole numbers",
        "bool": "true or false",
        "int": "whole number",
        "str": "text",
    }
    inner = _types(leaf.annotation)
    return next(name for kind, name in plain.items() if kind in inner)


def _types(annotation: Any) -> set[str]:
    """Names of the plain types in an annotation."""
    origin = typing.get_origin(annotation)
    if origin is typing.Annotated:
        return _types(typing.get_args(annotation)[0])
    if origin is list:
        member = _types(typing.get_args(annotation)[0])
        return {"lists"} if "list" in member else {"list"}
    inner = (_types(part) for part in typing.get_args(annotation))
    return set().union(*inner) if origin is not None else {getattr(annotation, "__name__", "")}


def _default(leaf: Leaf, rules: Mapping[str, Rule | Many]) -> str:
    if leaf.required:
        return "**given**"
    rule = rules.get(leaf.path)
    if rule is None:
        return "none"
    exact = rule.spread == "0 %" or (isinstance(rule, Rule) and rule.word is not None)
    return rule.why + ("" if exact else f"; u {rule.spread}")


def _sections() -> Iterator[str]:
    rules = _rules()
    by_section: dict[str, list[Leaf]] = {}
    for leaf in leaves().values():
        by_section.setdefault(leaf.path.rpartition(".")[0], []).append(leaf)
    for name, members in by_section.items():
        yield f"\n### {'[' + name.replace('.#', '.<i>') + ']' if name else 'Top of the file'}\n"
        yield "| key | meaning | what stands there | default |\n| --- | --- | --- | --- |"
        for leaf in members:
            yield f"| `{leaf.name}` | {leaf.meaning} | {_kind(leaf)} | {_default(leaf, rules)} |"


def _spreads() -> Iterator[str]:
    yield "\n| gauge named | standard uncertainty |\n| --- | --- |"
    for gauge, kinds in GAUGES.items():
        yield f"| {gauge} | {', '.join(f'{u} ({kind})' for kind, u in kinds.items())} |"
    yield "\n| kind | measured, at least | catalogue | units known at once |\n| --- | --- | --- | --- |"
    for name, kind in DIMENSIONS.items():
        units = " ".join(f"`{unit}`" for unit in kind.units if unit)
        yield f"| {name} | {FLOORS.get(name, 'the digits')} | {CATALOGUE.get(name, 'none')} | {units} |"


def docs_text() -> str:
    """The document."""
    fields = (
        "\n## Fields\nB is the bore, D a valve's diameter, n its number in a cylinder. `u` behind a "
        "default is its standard uncertainty."
    )
    return "\n".join([_HEAD.rstrip(), *_spreads(), fields, *_sections(), _TAIL.rstrip()]) + "\n"


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(docs_text(), encoding="utf-8")
