"""Tensile strength and fatigue limit of a metal at one place of a part.

The catalogue gives a metal as a test bar: tensile strength and the endurance ratio of a
plain bar in rotating bending.  What a place of a casting bears differs by section
thickness, casting skin, stress gradient and temperature; each is one formula here.

The bar has a gradient of its own (2/radius).  The endurance ratio contains the support
that this gradient gives, so support enters as the ratio n(place)/n(bar): never twice.
With it a uniformly stressed (axial) section comes out at about 0.24 of the tensile
strength for grey iron, as the annex of EN 1561 has it, and 0.45 for steel, as FKM has it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

from ..build import catalogue
from ..trace import Value, formula
from .cases import Leaves

if TYPE_CHECKING:
    from ..build.model import Build

_FKM = "FKM guideline 2012, local stress (constants read in an open-source library)"
_KSI = 6.894757293168361e6  # Pa
_KELVIN = 273.15  # K at 0 C

#: Gradients beyond this are given no further support [1/m]: FKM's fit for grey iron is doubted there.
LARGEST_GRADIENT = 1.0e3
#: Section thickness over which the strength law was fitted [m].
SECTION_RANGE = (5.0e-3, 0.15)

Loading = Literal["bending", "axial"]


@formula(
    symbol="R_HB",
    unit="Pa",
    equation="R_HB = s (0.23 HB - 12.5) ksi",
    source="Budynas & Nisbett eq. 2-22, from memory",
    valid="grey iron, 150 to 310 HB",
)
def grey_tensile_from_hardness(hardness: Value, scatter: Value) -> Value:
    """Tensile strength of grey iron estimated from its hardness."""
    return scatter * np.maximum(0.23 * hardness - 12.5, 5.0) * _KSI


@formula(
    symbol="R_HB",
    unit="Pa",
    equation="R_HB = s (3.2 HB - 150) MPa",
    source="line through the bands of SAE J434 and ASTM A536 (D5506 and D7003 read, others from memory)",
    valid="ductile iron, 150 to 310 HB",
)
def ductile_tensile_from_hardness(hardness: Value, scatter: Value) -> Value:
    """Tensile strength of ductile iron estimated from its hardness."""
    return scatter * np.maximum(3.2 * hardness - 150.0, 100.0) * 1.0e6


@formula(
    symbol="R_HB",
    unit="Pa",
    equation="R_HB = s 3.45 HB MPa",
    source="Budynas & Nisbett eq. 2-21, from memory",
    valid="steel, 100 to 450 HB",
)
def steel_tensile_from_hardness(hardness: Value, scatter: Value) -> Value:
    """Tensile strength of steel estimated from its hardness."""
    return scatter * 3.45e6 * hardness


@formula(
    symbol="R",
    unit="Pa",
    equation="R = R_class^w R_HB^(1 - w), w = s_HB^2/(s_class^2 + s_HB^2)",
    source="Bayes' rule for two independent log-normal estimates",
)
def updated_tensile(class_value: Value, from_hardness: Value, weight: float) -> Value:
    """Tensile strength from its class and a measured hardness together.

    `weight` is the share of the class value, by inverse variance of the logarithm.  Both
    inputs are sampled with their own independent errors, and this combination then has
    exactly the posterior's spread, sqrt(1/(1/s_class^2 + 1/s_HB^2)).
    """
    return class_value**weight * from_hardness ** (1.0 - weight)


@formula(
    symbol="R",
    unit="Pa",
    equation="R = R_class f",
    source="definition",
)
def doubtful_class(class_value: Value, factor: Value) -> Value:
    """Tensile strength of a class that was taken for want of a better one."""
    return class_value * factor


@formula(
    symbol="R_t",
    unit="Pa",
    equation="R_t = R (t/t_0)^-m",
    source="fit to the table of expected strengths in EN 1561 (read on a foundry's page)",
    valid="5 mm <= t <= 150 mm; held constant beyond",
)
def section_tensile(tensile: Value, thickness: Value, wall: Value, exponent: Value) -> Value:
    """Tensile strength in a section of given thickness: slow cooling makes it weaker."""
    return tensile * (np.clip(thickness, *SECTION_RANGE) / wall) ** -exponent


@formula(symbol="G", unit="1/m", equation="G = G_notch + 2/t", source="FKM guideline 2012, from memory")
def bending_gradient(thickness: Value, notch: Value) -> Value:
    """Related stress gradient at the face of a bent section with a notch."""
    return notch + 2.0 / thickness


@formula(
    symbol="n",
    unit="1",
    equation=(
        "G <= 0.1: n = 1 + G 10^(0.5 - x); G <= 1: n = 1 + sqrt(G) 10^-x; "
        "n = 1 + G^(1/4) 10^-x; x = a + R/b, G in 1/mm"
    ),
    source=_FKM,
    valid="G held at 1/mm and above",
)
def support_number(gradient: Value, tensile: Value, a: Value, b: Value) -> Value:
    """Notch support number after Stieler."""
    g = np.minimum(np.asarray(gradient, dtype=float), LARGEST_GRADIENT) * 1e-3
    shape = np.where(g <= 0.1, g * np.sqrt(10.0), np.sqrt(np.maximum(g, 0.0)))
    return 1.0 + shape * 10.0 ** -(a + tensile / b)


@formula(
    symbol="K_R",
    unit="1",
    equation="K_R = 1 - a log10(Rz/um) log10(2 R/R_min)",
    source=_FKM,
    valid="Rz >= 1 um; K_R held within 0.3 to 1",
)
def roughness_factor(tensile: Value, roughness: Value, a: Value, minimum: Value) -> Value:
    """Factor on the fatigue limit for roughness or casting skin."""
    loss = a * np.log10(np.maximum(roughness * 1e6, 1.0)) * np.log10(2.0 * tensile / minimum)
    return np.clip(1.0 - loss, 0.3, 1.0)


@formula(
    symbol="K_S",
    unit="1",
    equation="K_S = 1/(1 + (1/K_f)(1/K_R - 1))",
    source=_FKM,
)
def surface_factor(roughness: Value, notch: Value) -> Value:
    """Share of the fatigue limit left by the surface at a local stress."""
    return 1.0 / (1.0 + (1.0 / roughness - 1.0) / notch)


@formula(
    symbol="K_T",
    unit="1",
    equation="K_T = 1 - c (T/1000)^2, T in C",
    source=_FKM,
    valid="cast iron up to 500 C",
)
def iron_temperature_factor(temperature: Value, loss: Value) -> Value:
    """Factor on the fatigue limit of cast iron for temperature."""
    return 1.0 - loss * (np.clip(temperature - _KELVIN, 0.0, 500.0) * 1e-3) ** 2


@formula(
    symbol="K_T",
    unit="1",
    equation="K_T = 1 - c (T - T_0)/1000, T > T_0 (steel 100 C, aluminium 50 C)",
    source=_FKM,
    valid="steel up to 500 C, aluminium up to 200 C",
)
def metal_temperature_factor(temperature: Value, loss: Value, start: float) -> Value:
    """Factor on the fatigue limit of steel or aluminium for temperature."""
    return np.maximum(1.0 - loss * 1e-3 * np.maximum(temperature - _KELVIN - start, 0.0), 0.1)


@formula(
    symbol="S_W",
    unit="Pa",
    equation="S_W = f R_t K_S K_T n(G)/n(G_bar)",
    source="FKM guideline 2012 with the endurance ratio of a bar in rotating bending",
    valid="fully reversed local stress at the knee, median",
)
def local_fatigue_limit(
    tensile: Value, ratio: Value, surface: Value, temperature: Value, support: Value, bar_support: Value
) -> Value:
    """Fully reversed local stress amplitude that the place bears up to the knee."""
    return ratio * tensile * surface * temperature * support / bar_support


@formula(
    symbol="R_B",
    unit="Pa",
    equation="R_B = c R",
    source="modulus of rupture of grey iron; ASTM A48 and FKM's M = 0.5, docs/models/fatigue.md",
    valid="grey iron, elastic stress at the face of a bent solid section",
)
def bending_strength(tensile: Value, factor: Value) -> Value:
    """Elastic bending stress at which a section breaks: grey iron yields in tension before it does."""
    return tensile * factor


def material(build: Build, section: str) -> str:
    """Catalogue row of a section (``"casting"``, ``"caps"``)."""
    return str(build.choice(f"{section}.material"))


def family(row: str) -> str:
    """``"grey"``, ``"ductile"``, ``"steel"`` or ``"aluminium"``."""
    return catalogue.row("metal", row).table.removesuffix("_iron")


def tensile_strength(ctx: Leaves, build: Build, section: str, thickness: Value) -> Value:
    """Tensile strength where the section has this thickness [Pa], sampled.

    Parameters
    ----------
    section : str
        ``"casting"`` or ``"caps"``: material from ``<section>.material``, hardness from
        ``<section>.hardness``.
    thickness : Value
        Wall or section thickness that sets the cooling [m].

    Notes
    -----
    Only a *measured* hardness counts; an assumed or catalogue one says nothing beyond the
    class.  The class value is that of the bar and is carried to the section.  A hardness
    taken on the casting is carried from the wall where it is taken; a hardness taken on a
    cap holds for the cap as it is.
    """
    row = material(build, section)
    kind = family(row)
    strength = ctx.catalogue("metal", row, "tensile")
    if _class_unknown(build, section):
        strength = doubtful_class(strength, ctx.model("strength.unknown_class"))
    sized = _in_section(ctx, kind, strength, thickness)
    path = f"{section}.hardness"
    if kind == "aluminium" or not build.has(path) or build.values[path].by != "measured":
        return sized
    estimate = _from_hardness(kind)(ctx.build(path), ctx.model("strength.hardness_scatter"))
    if section == "casting" and kind in ("grey", "ductile"):
        exponent = ctx.model(f"strength.{kind}.section_exponent")
        estimate = section_tensile(estimate, thickness, ctx.model("strength.hardness_wall"), exponent)
    return updated_tensile(sized, estimate, _class_weight(build, section))


def static_strength(ctx: Leaves, build: Build, section: str, thickness: Value) -> Value:
    """Elastic bending stress at which the section breaks [Pa]: where a mean-stress line ends, bent.

    Arguments as `tensile_strength`, which it equals for all metals but grey iron.
    """
    tensile = tensile_strength(ctx, build, section, thickness)
    if family(material(build, section)) != "grey":
        return tensile
    return bending_strength(tensile, ctx.model("strength.grey.bending_factor"))


def fatigue_strength(
    ctx: Leaves,
    build: Build,
    section: str,
    *,
    thickness: Value,
    gradient: Value | None = None,
    skin: bool = False,
    loading: Loading = "axial",
    temperature: Value | None = None,
) -> Value:
    """Fully reversed local stress amplitude at the knee [Pa], sampled, median at sample 0.

    Parameters
    ----------
    section : str
        ``"casting"`` or ``"caps"``.
    thickness : Value
        Section thickness [m]: sets cooling and, in bending, the gradient 2/t.
    gradient : Value, optional
        Related stress gradient of a notch, as 2/radius [1/m]; none for a plain face.
    skin : bool
        True on an as-cast face, False on a machined one.
    loading : str
        ``"bending"`` adds the gradient of the section, ``"axial"`` does not.
    temperature : Value, optional
        Metal temperature [K]; by default that of a warm block.
    """
    row = material(build, section)
    kind = family(row)
    tensile = tensile_strength(ctx, build, section, thickness)
    notch: Value = 0.0 if gradient is None else gradient
    place = bending_gradient(thickness, notch) if loading == "bending" else notch
    roughness = roughness_factor(
        tensile,
        ctx.model("strength.skin_roughness" if skin else "strength.machined_roughness"),
        ctx.model(f"strength.{kind}.roughness_a"),
        ctx.model(f"strength.{kind}.roughness_minimum"),
    )
    return local_fatigue_limit(
        tensile,
        ctx.catalogue("metal", row, "endurance_ratio"),
        surface_factor(roughness, ctx.model(f"strength.{kind}.roughness_notch")),
        _temperature_factor(ctx, kind, temperature),
        support_of(ctx, row, place, tensile),
        support_of(ctx, row, ctx.model("strength.specimen_gradient"), tensile),
    )


def support_of(ctx: Leaves, row: str, gradient: Value, tensile: Value) -> Value:
    """Notch support number of a metal at a related stress gradient [1/m]; 1 where there is none."""
    kind = family(row)
    a, b = (ctx.model(f"strength.{kind}.support_{letter}") for letter in "ab")
    return support_number(gradient, tensile, a, b)


def _temperature_factor(ctx: Leaves, kind: str, temperature: Value | None) -> Value:
    kelvin = ctx.model("strength.casting_temperature") if temperature is None else temperature
    loss = ctx.model(f"strength.{kind}.temperature_loss")
    if kind in ("grey", "ductile"):
        return iron_temperature_factor(kelvin, loss)
    return metal_temperature_factor(kelvin, loss, 100.0 if kind == "steel" else 50.0)


def _in_section(ctx: Leaves, kind: str, tensile: Value, thickness: Value) -> Value:
    if kind not in ("grey", "ductile"):
        return tensile  # wrought bar: its row holds for the section it names
    wall = ctx.model(f"strength.{kind}.section_wall")
    return section_tensile(tensile, thickness, wall, ctx.model(f"strength.{kind}.section_exponent"))


def _from_hardness(kind: str) -> Value:
    return {
        "grey": grey_tensile_from_hardness,
        "ductile": ductile_tensile_from_hardness,
        "steel": steel_tensile_from_hardness,
    }[kind]


def _class_unknown(build: Build, section: str) -> bool:
    """Whether the material is the default because the build names none."""
    return any(assumption.path == f"{section}.material" for assumption in build.assumptions)


def _class_weight(build: Build, section: str) -> float:
    """Share of the class value in `updated_tensile`, from the relative spreads of both."""
    row = catalogue.row("metal", material(build, section))
    by_class = row.u("tensile") / row.si("tensile")
    if _class_unknown(build, section):
        by_class = float(np.hypot(by_class, catalogue.row("model", "strength.unknown_class").u("value")))
    scatter = catalogue.row("model", "strength.hardness_scatter").u("value")
    reading = build.values[f"{section}.hardness"]
    estimate = _from_hardness(family(row.name))
    sensitivity = float(np.log(estimate(reading.si * 1.01, 1.0) / estimate(reading.si, 1.0)) / np.log(1.01))
    by_hardness = float(np.hypot(scatter, sensitivity * reading.u / reading.si))
    return by_hardness**2 / (by_class**2 + by_hardness**2)
