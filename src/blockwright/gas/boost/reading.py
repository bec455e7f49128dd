"""Reads a compressor map from our CSV layout (``docs/compressor-map.md``), with every fault at once."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from ...build.catalogue.entry import near_miss
from ...errors import Fault, InputError
from ...units import scale
from .map import AIR_CONSTANT, CompressorMap, SpeedLine, map_faults

#: Largest file that can be a map [bytes], and most rows.
_LARGEST = 1_000_000
_MOST_ROWS = 2000
_TITLE = "compressor map"
_COLUMNS = ("speed", "flow", "pressure ratio", "efficiency")
_POUND = 0.45359237
#: Mass flows [kg/s]; volume flows, at the reference state, through `units`.
_MASS_FLOWS = {
    "kg/s": 1.0, "g/s": 1e-3, "kg/min": 1.0 / 60.0, "kg/h": 1.0 / 3600.0,
    "lb/s": _POUND, "lb/min": _POUND / 60.0,
}  # fmt: skip
_SPEEDS = {"rpm": math.pi / 30.0, "1/min": math.pi / 30.0, "krpm": 1000.0 * math.pi / 30.0, "rad/s": 1.0}
_KEYS = {
    "reference temperature": "temperature",
    "reference pressure": "pressure",
    "wheel diameter": "length",
    "flow unit": "",
    "speed unit": "",
    "name": "",
    "invented": "",
    "source": "",
}
_NEEDED = ("reference temperature", "reference pressure", "flow unit", "speed unit")
#: Plausible reference states [K], [Pa]: any weather on earth, and the standards' own.
_RANGES = {
    "reference temperature": (230.0, 330.0, "between -43 and 57 degC"),
    "reference pressure": (5.0e4, 1.2e5, "between 50 and 120 kPa"),
    "wheel diameter": (0.015, 0.5, "between 15 and 500 mm"),
}
#: Tip speed [m/s] and flow coefficient that no wheel reaches: then a unit is wrong.
_FASTEST_TIP = 700.0
_LARGEST_PHI = 0.5


@dataclass
class _Sheet:
    """What was read so far; faults gather."""

    header: dict[str, tuple[str, int]] = field(default_factory=dict)
    rows: list[tuple[int, tuple[float, float, float, float]]] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)

    def fault(self, path: str, read: str, right: str, line: int | None = None) -> None:
        self.faults.append(Fault(path, read[:60], right, line))


def read_map(path: Path | str) -> CompressorMap:
    """A compressor map from a file.

    Raises
    ------
    InputError
        With every fault found and its line.
    """
    file = Path(path)
    try:
        raw = file.read_bytes() if file.stat().st_size <= _LARGEST else b""
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise InputError(
            Fault("compressor map", f"{file.name}: {reason}", "name a file that can be read")
        ) from None
    if not raw:
        right = f"give a text of at most {_LARGEST // 1000} kB"
        raise InputError(Fault("compressor map", f"{file.name}: empty or far too large", right))
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        right = "save it as CSV in UTF-8"
        raise InputError(Fault("compressor map", f"{file.name}: not UTF-8 text", right)) from None
    return parse_map(text, file.name)


def parse_map(text: str, source: str) -> CompressorMap:
    """A compressor map from the text of a file; `source` names it in messages."""
    sheet = _Sheet()
    if "\0" in text:
        sheet.fault("", "bytes that are no text", "save it as CSV in UTF-8")
    else:
        _read(text, sheet)
    scales = _header(sheet)
    if scales is None or not sheet.rows:
        if scales is not None and not sheet.faults:
            sheet.fault("speed", "no rows of figures", "give three speed lines at least")
        raise InputError(sheet.faults, source)
    lines = _lines(sheet, scales)
    sheet.faults.extend(map_faults(lines))
    diameter = scales.get("wheel diameter")
    if diameter is not None and not sheet.faults:
        _plausible(sheet, lines, diameter, scales)
    if sheet.faults:
        raise InputError(sheet.faults, source)
    name = sheet.header.get("name", (source, 0))[0] or source
    return CompressorMap(name, scales["reference temperature"], scales["reference pressure"], lines, diameter)


def _read(text: str, sheet: _Sheet) -> None:
    reader = csv.reader(io.StringIO(text, newline=""), skipinitialspace=True)
    stage = "title"
    try:
        for cells in reader:
            line = reader.line_num
            cells = [cell.strip() for cell in cells]
            while cells and not cells[-1]:
                cells.pop()
            if not cells or cells[0].startswith("#"):
                continue
            if len(cells) == 1 and ";" in cells[0]:
                sheet.fault("", "semicolons between the cells", "use commas, and points in numbers", line)
                return
            if stage == "title":
                if [cells[0].lower(), *cells[1:]] != [_TITLE, "1"]:
                    sheet.fault("", repr(",".join(cells)), f"let the first line be: {_TITLE},1", line)
                stage = "header"
                if cells[0].lower() == _TITLE:
                    continue
            if stage == "header":
                stage = _header_line(cells, line, sheet)
            else:
                _row(cells, line, sheet)
            if len(sheet.rows) > _MOST_ROWS:
                sheet.fault("", f"more than {_MOST_ROWS} rows", "a map has some hundred points at most", line)
                return
    except csv.Error as error:
        sheet.fault("", str(error), "write plain comma-separated cells", reader.line_num)
    if stage == "header":
        sheet.fault("", "no line of column names", f"put above the figures: {','.join(_COLUMNS)}")


def _header_line(cells: list[str], line: int, sheet: _Sheet) -> str:
    key = " ".join(cells[0].lower().split())
    if key == "speed":
        if tuple(" ".join(c.lower().split()) for c in cells) != _COLUMNS:
            sheet.fault("", repr(",".join(cells)), f"let the columns be: {','.join(_COLUMNS)}", line)
        return "rows"
    if key not in _KEYS:
        sheet.fault(key, repr(cells[0]), near_miss(key, _KEYS) + f"known are {', '.join(_KEYS)}", line)
    elif key in sheet.header:
        sheet.fault(key, "given twice", f"it stands in line {sheet.header[key][1]} already", line)
    else:
        sheet.header[key] = (", ".join(cells[1:]), line)
    return "header"


def _row(cells: list[str], line: int, sheet: _Sheet) -> None:
    if len(cells) != len(_COLUMNS):
        sheet.fault("", f"{len(cells)} cells", f"give {len(_COLUMNS)}: {', '.join(_COLUMNS)}", line)
        return
    values = []
    for name, cell in zip(_COLUMNS, cells, strict=True):
        try:
            value = float(cell) if "_" not in cell else math.nan
        except ValueError:
            sheet.fault(name, repr(cell), "give a plain number with a decimal point", line)
            continue
        right = _range_fault(name, value)
        if right:
            sheet.fault(name, cell, right, line)
        values.append(value)
    if len(values) == len(_COLUMNS) and all(
        not _range_fault(name, value) for name, value in zip(_COLUMNS, values, strict=True)
    ):
        speed, flow, ratio, efficiency = values
        sheet.rows.append((line, (speed, flow, ratio, efficiency)))


def _range_fault(name: str, value: float) -> str:
    if not math.isfinite(value):
        return "give a finite number"
    if name == "efficiency" and not 0.0 < value < 1.0:
        return "the isentropic efficiency lies between 0 and 1" + (
            f"; write {value / 100.0:g}" if 1.0 < value < 100.0 else ""
        )
    if name == "pressure ratio" and not 1.0 <= value <= 12.0:
        return "the total pressure ratio of one stage lies between 1 and 12"
    if name in ("speed", "flow") and value <= 0.0:
        return "it must be positive"
    return ""


def _header(sheet: _Sheet) -> dict[str, float] | None:
    """The header's figures in SI, with the units' factors; None when one is missing or wrong."""
    out: dict[str, float] = {}
    before = len(sheet.faults)
    for key in _NEEDED:
        if key not in sheet.header:
            why = "without it the corrected figures mean nothing" if "reference" in key else "name it"
            sheet.fault(key, "nothing", f"give it in the header, above the figures; {why}")
    for key, (low, high, words) in _RANGES.items():
        if key not in sheet.header:
            continue
        text, line = sheet.header[key]
        value = _quantity(text, _KEYS[key])
        if value is None:
            examples = {"temperature": "298.15 K", "pressure": "100 kPa", "length": "62 mm"}
            sheet.fault(key, repr(text), f"give it with its unit, such as {examples[_KEYS[key]]}", line)
        elif not low <= value <= high:
            sheet.fault(key, text, f"it lies {words}", line)
        else:
            out[key] = value
    if len(sheet.faults) == before:
        density = out["reference pressure"] / (AIR_CONSTANT * out["reference temperature"])
        _unit(sheet, "flow unit", density, out)
        _unit(sheet, "speed unit", density, out)
    return out if len(sheet.faults) == before else None


def _quantity(text: str, dimension: str) -> float | None:
    number, _, unit = text.strip().partition(" ")
    found = scale(unit.strip(), dimension) if unit.strip() else None
    try:
        value = float(number)
    except ValueError:
        return None
    return None if found is None or not math.isfinite(value) else found[0] * (value + found[1])


def _unit(sheet: _Sheet, key: str, density: float, out: dict[str, float]) -> None:
    text, line = sheet.header[key]
    if key == "speed unit":
        if text in _SPEEDS:
            out[key] = _SPEEDS[text]
        elif text == "m/s" and "wheel diameter" in out:
            out[key] = 2.0 / out["wheel diameter"]
        else:
            sheet.fault(
                key, repr(text), f"one of {', '.join(_SPEEDS)}, or m/s of the tip with a wheel diameter", line
            )
        return
    volume = scale(text, "flow")
    if text in _MASS_FLOWS:
        out[key] = _MASS_FLOWS[text]
    elif volume is not None:
        out[key] = volume[0] * density
    else:
        sheet.fault(
            key, repr(text),
            f"one of {', '.join(_MASS_FLOWS)}, or a volume flow at the reference state: m^3/s or cfm", line,
        )  # fmt: skip


def _lines(sheet: _Sheet, scales: dict[str, float]) -> tuple[SpeedLine, ...]:
    """Rows of one speed that follow each other make a line."""
    blocks: list[list[tuple[int, tuple[float, float, float, float]]]] = []
    seen: dict[float, int] = {}
    for line, row in sheet.rows:
        if blocks and blocks[-1][-1][1][0] == row[0]:
            blocks[-1].append((line, row))
            continue
        if row[0] in seen:
            right = f"the line of this speed began in line {seen[row[0]]}; keep its points together"
            sheet.fault("speed", f"{row[0]:g} again", right, line)
        seen.setdefault(row[0], line)
        blocks.append([(line, row)])
    lines = []
    for block in blocks:
        values = np.array([row for _, row in block])
        lines.append(
            SpeedLine(
                values[0, 0] * scales["speed unit"], values[:, 1] * scales["flow unit"],
                values[:, 2].copy(), values[:, 3].copy(), block[0][0],
            )
        )  # fmt: skip
    return tuple(sorted(lines, key=lambda found: found.speed))


def _plausible(
    sheet: _Sheet, lines: tuple[SpeedLine, ...], diameter: float, scales: dict[str, float]
) -> None:
    tip = 0.5 * diameter * lines[-1].speed
    if tip > _FASTEST_TIP:
        right = "check speed unit and wheel diameter"
        sheet.fault("speed", f"a tip speed of {tip:.0f} m/s", right, lines[-1].line)
        return
    density = scales["reference pressure"] / (AIR_CONSTANT * scales["reference temperature"])
    phi = float(lines[-1].flow[-1]) / (density * 0.25 * math.pi * diameter**2 * tip)
    if phi > _LARGEST_PHI:
        passed = float(lines[-1].flow[-1])
        right = f"too much for a wheel of {diameter * 1e3:.0f} mm; check flow unit and wheel diameter"
        sheet.fault("flow", f"{passed:.4g} kg/s", right, lines[-1].line)
