"""The commented build that a shop starts from."""

from __future__ import annotations

from .load import loads
from .model import Assumption, Build
from .quantity import Quantity
from .walk import Leaf, known_keys, leaves

_HEAD = """\
# A build for Blockwright.  Fill in what stands without a # in front; everything else has a
# default, shown behind the #, which the verdict lists as assumed.  Take the # away and
# write what you know: every figure you measure narrows the answer.
#
# Quantities stand in quotes with their unit: "4.030 in", "102.4 mm", "75 lbf*ft".
# A value may say how it is known:
#   bore = { value = "4.030 in", by = "measured", gauge = "bore gauge", u = "0.0002 in" }
# The figures below are an invented example.
"""

#: The dozen that must be given, as an invented engine.
_GIVEN = {
    "format": "1",
    "layout.kind": '"V"',
    "layout.cylinders": "8",
    "layout.firing_order": "[1, 5, 4, 2, 6, 3, 7, 8]",
    "target.power": '"450 hp"',
    "target.speed": '"6500 rpm"',
    "casting.bore": '"4.030 in"',
    "caps.material": '"grey-30"',
    "crank.stroke": '"3.480 in"',
    "rods.length": '"5.700 in"',
    "heads.chamber_volume": '"64 cc"',
    "spark.advance": '"34 deg"',
    "duty.kind": '"passes"',
    "duty.passes": "200",
    "duty.pass_time": '"45 s"',
}

#: Fields that hold lists, and others whose default is best told by an example.
_EXAMPLES = {
    "layout.throws": '["0 deg", "90 deg", "270 deg", "180 deg"]',
    "casting.walls.angles": '["0 deg", "90 deg", "180 deg", "270 deg"]',
    "casting.walls.depths": '["0.8 in", "2.7 in", "4.5 in"]',
    "casting.walls.gauge": '"ultrasonic"',
    "casting.walls.u": '"0.002 in"',
    "cam.intake_curve": '[["325 deg", "0 in"], ["380 deg", "0.22 in"], ["470 deg", "0.52 in"], '
    '["560 deg", "0.22 in"], ["615 deg", "0 in"]]',
    "cam.exhaust_curve": '[["100 deg", "0 in"], ["170 deg", "0.20 in"], ["248 deg", "0.46 in"], '
    '["325 deg", "0.20 in"], ["395 deg", "0 in"]]',
    "exhaust.secondary_groups": "[[1, 2], [3, 4], [5, 6], [7, 8]]",
    "nitrous.jets": "1",
    "nitrous.bottles": "1",
    "turbo.count": "1",
    "turbo.compressor_map": '"maps/our_compressor.csv"',
    "blower.compressor_map": '"maps/our_compressor.csv"',
    "note": '"heads off, checked for cracks"',
    "name": '"our first build"',
    "invented": "false",
    "duty.hours": '"30 h"',
}


_WALL = '["0.215 0.190 0.221 0.187 in", "0.211 0.188 0.219 0.186 in", "0.208 0.187 0.215 0.186 in"]'


def new_build() -> str:
    """Text of a build file to start from; it loads as it is."""
    build = loads(_document({}))
    return _document({a.path: a for a in build.assumptions}, build)


def _document(assumed: dict[str, Assumption], build: Build | None = None) -> str:
    lines = [_HEAD]
    section = ""
    for leaf in leaves().values():
        parent = leaf.path.rpartition(".")[0]
        if "#" in parent:
            continue
        if parent != section:
            section = parent
            needed = any(path.rpartition(".")[0] == parent for path in _GIVEN)
            lines.append(f"\n{'' if needed else '#'}[{section}]")
        lines.append(_line(leaf, assumed, build))
        if leaf.path == "duty.hours":
            lines.append(_points())
    return "\n".join(lines) + "\n"


def _points() -> str:
    keys = ", ".join(known_keys("duty.points.0"))
    return (
        f"#points = [                             # speeds and loads of the duty: {keys} of the time\n"
        '#  { speed = "6500 rpm", load = 1.0, share = 0.6 },\n'
        '#  { speed = "5500 rpm", load = 1.0, share = 0.4 },\n'
        "#]"
    )


def _line(leaf: Leaf, assumed: dict[str, Assumption], build: Build | None) -> str:
    text, mark = _GIVEN.get(leaf.path, ""), ""
    if not text:
        mark, text = "#", _default(leaf, assumed, build)
    if leaf.path == "casting.walls.thickness":
        return f"# {_comment(leaf)}\n#thickness.1 = {_WALL}"
    entry = f"{mark}{leaf.name} = {text}"
    beside = f"{entry:<40}# {_comment(leaf)}"
    if len(entry) < 40 and len(beside) <= 118:
        return beside
    return f"# {_comment(leaf)}\n{entry}"


def _default(leaf: Leaf, assumed: dict[str, Assumption], build: Build | None) -> str:
    if leaf.path in _EXAMPLES:
        return _EXAMPLES[leaf.path]
    if build is not None and leaf.path.endswith(".flow"):
        rows = build.array(leaf.path, "lift", "flow")
        pairs = (f'["{lift / 0.0254:.3f} in", "{flow / 4.719474432e-4:.0f} cfm"]' for lift, flow in rows)
        return f"[{', '.join(pairs)}]"
    found = assumed.get(leaf.path)
    if found is not None:
        plain = leaf.reader is None and "list" not in str(leaf.annotation)
        number = _is_number(leaf) or (found.value.isdigit() and leaf.reader is None)
        if leaf.reader is None and not plain:
            return f"[{found.value}]"
        return found.value if number else f'"{found.value}"'
    if isinstance(leaf.reader, Quantity):
        return leaf.reader.example if _is_number(leaf) else f'"{leaf.reader.example}"'
    if leaf.words:
        return f'"{leaf.words[0]}"'
    return {"thread": '"7/16-14"', "grade": '"sae-8"', "metal": '"steel-1045"'}.get(leaf.table, "[2, 3, 4]")


def _is_number(leaf: Leaf) -> bool:
    return isinstance(leaf.reader, Quantity) and leaf.reader.dimension == "number"


def _comment(leaf: Leaf) -> str:
    about = leaf.meaning.rstrip(".")
    if len(leaf.words) > 2:
        about += f": {', '.join(leaf.words)}"
    return about.replace("\n", " ")
