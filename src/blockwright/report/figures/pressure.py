"""Cylinder pressure against crank angle, and against volume."""

from __future__ import annotations

from markupsafe import Markup

from ...life.verdict import Trace
from .. import svg, words

_WIDTH, _HEIGHT = 560.0, 400.0


def _turned(values: tuple[float, ...], half: int) -> list[float]:
    """The cycle cut at overlap, so that firing lies in the middle: -360 to 359 degrees."""
    return [*values[half:], *values[:half]]


def pressure(trace: Trace) -> svg.Figure:
    """Trace with its 5-95 % band, and the motored trace dashed."""
    half = sum(a < 360.0 for a in trace.angle)
    angle = [a - 720.0 if a >= 360.0 else a for a in _turned(trace.angle, half)]
    nominal, low, high, motored = (
        _turned(v, half) for v in (trace.pressure, trace.pressure_low, trace.pressure_high, trace.motored)
    )
    frame = svg.Frame(56, 44, _WIDTH - 72, _HEIGHT - 92, -360, 360, 0, svg.nice_top(high))
    k = max(range(len(nominal)), key=nominal.__getitem__)
    peak, at = nominal[k], angle[k]
    unit = words.unit_words(trace.pressure_unit)
    band = frame.curve(angle, high) + frame.curve(angle, low)[::-1]
    side = at + 16.0
    parts = [
        frame.axes(
            [-360, -180, 0, 180, 360],
            svg.nice_ticks(0, frame.y_high, 6),
            "crank angle from firing dead centre, °",
            f"pressure, {unit} absolute",
        ),
        svg.path(band, "band", closed=True),
        svg.path(frame.curve(angle, motored), "curve s2 dashed"),
        svg.path(frame.curve(angle, nominal), "curve s1"),
        svg.circle(frame.x(at), frame.y(peak), 4, "mark s1"),
        svg.text(
            f"{words.with_unit(peak, trace.pressure_unit)} at {at:+.0f}°",
            frame.x(side) + 22,
            frame.y(peak) + 5,
            "name",
        ),
        _key(
            [
                ("firing, nominal", "curve s1"),
                ("motored", "curve s2 dashed"),
                ("5-95 % of cycles and inputs", "band"),
            ],
            60,
            frame.top + 18,
        ),
    ]
    rpm = words.number(trace.speed_rpm)
    keep = [i for i in range(len(angle)) if i % 20 == 0 or i == k]
    return svg.Figure(
        key="pressure",
        title="Cylinder pressure",
        drawing=svg.picture(
            "pressure",
            _WIDTH,
            _HEIGHT,
            "Cylinder pressure against crank angle",
            f"At {rpm} rpm the nominal peak is {words.with_unit(peak, trace.pressure_unit)}, {at:.0f} "
            f"degrees past firing centre; 95 % bound {words.with_unit(max(high), trace.pressure_unit)}.",
            *parts,
        ),
        caption=f"At {rpm} rpm and {words.quantity(trace.power)}. Judge by the upper edge of the "
        "band, not by the line. "
        "Spark moves this peak far more than it moves the torque: look how close to dead centre it stands.",
        reading=words.with_unit(max(high), trace.pressure_unit),
        reading_words="95 % bound of the peak",
        table=svg.Table(
            ("angle, °", f"nominal, {unit}", "5 %", "95 %", "motored"),
            tuple(
                (f"{angle[i]:.0f}", *(words.number(v[i]) for v in (nominal, low, high, motored)))
                for i in keep
            ),
        ),
    )


def indicator(trace: Trace) -> svg.Figure:
    """The p-V diagram of the same cycle."""
    top_v = svg.nice_top(trace.volume)
    frame = svg.Frame(56, 44, _WIDTH - 72, _HEIGHT - 92, 0, top_v, 0, svg.nice_top(trace.pressure))
    ring = [*zip(trace.volume, trace.pressure, strict=True), (trace.volume[0], trace.pressure[0])]
    v_unit, p_unit = words.unit_words(trace.volume_unit), words.unit_words(trace.pressure_unit)
    low, high = min(trace.volume), max(trace.volume)
    k = max(range(len(trace.pressure)), key=trace.pressure.__getitem__)
    parts = [
        frame.axes(
            svg.nice_ticks(0, top_v, 6),
            svg.nice_ticks(0, frame.y_high, 6),
            f"volume of one cylinder, {v_unit}",
            f"pressure, {p_unit} absolute",
        ),
        svg.path(
            [(frame.x(v), frame.y(p)) for v, p in zip(trace.volume, trace.motored, strict=True)],
            "curve s2 dashed",
        ),
        svg.path([(frame.x(v), frame.y(p)) for v, p in ring], "curve s1"),
        svg.circle(frame.x(trace.volume[k]), frame.y(trace.pressure[k]), 4, "mark s1"),
        _key([("firing, nominal", "curve s1"), ("motored", "curve s2 dashed")], _WIDTH - 180, frame.top + 18),
    ]
    return svg.Figure(
        key="indicator",
        title="Pressure and volume",
        drawing=svg.picture(
            "indicator",
            _WIDTH,
            _HEIGHT,
            "Pressure against volume",
            f"Volume runs from {words.with_unit(low, trace.volume_unit)} to "
            f"{words.with_unit(high, trace.volume_unit)}.",
            *parts,
        ),
        caption="The area inside the loop is the work of one cycle; its height is what loads the "
        "block. Look how much of the "
        "area lies low in the loop: that work is had at little pressure.",
        reading=words.with_unit(trace.pressure[k], trace.pressure_unit),
        reading_words="nominal peak",
        table=svg.Table(
            (f"volume, {v_unit}", f"firing, {p_unit}", "motored"),
            tuple(
                (
                    words.number(trace.volume[i]),
                    words.number(trace.pressure[i]),
                    words.number(trace.motored[i]),
                )
                for i in range(0, len(trace.volume), 20)
            ),
        ),
    )


def _key(entries: list[tuple[str, str]], x: float, y: float) -> Markup:
    """What each stroke is, beside a piece of it."""
    parts: list[Markup] = []
    for k, (name, css) in enumerate(entries):
        at = y + 20 * k
        if css == "band":
            parts.append(svg.rect(x, at - 10, 28, 10, css))
        else:
            parts.append(svg.path([(x, at - 5), (x + 28, at - 5)], css))
        parts.append(svg.text(name, x + 36, at, "place"))
    return svg.group(*parts)
