"""The verdict in words, what it leaves out, and the cautions."""

from __future__ import annotations

from collections.abc import Sequence

from ..build.model import Build
from .verdict import Ceiling, Limit, Quantity

CAUTIONS = (
    "These are estimates from measurements, assumptions and models, not a certification. "
    "An engine can burst: a burst block, flywheel, clutch or fan, pressurised nitrous oxide and fuels can kill. "
    "Guards and scatter shields, the rules of your sanctioning body, local codes and the judgement of licensed "
    "practice come before anything said here.",
)

#: What no figure of this version contains.
NOT_MODELLED = (
    "Vibration: block, caps and shaft are rigid; caps that rock fore and aft, resonance and the shaft's bending and "
    "twist are not in any figure. What a girdle, grout or a top plate does by stiffness and damping is therefore absent.",
    "Waves in intake and exhaust pipes: tuning is stood in for by the manifold pressure that makes the wanted power.",
    "Knock: whether this fuel stands this spark and pressure. Knock bursts enter only as the pressure ratio you give.",
    "Bearings' oil films, lubrication and oil supply.",
    "Pistons, rings and pins by stress and heat; the valve train; the crankshaft's own strength.",
    "Cylinder-to-cylinder differences of mixture and filling; lean cylinders and hot restarts as events.",
    "Cracks that are already there, porosity and cold shuts: sound iron of the stated class is taken.",
    "Corrosion, cavitation in the jackets, repairs and earlier damage.",
)
_NITROUS = "Nitrous oxide: its power may be the target, but its pressure rise and mixture faults are not computed yet."


def not_modelled(build: Build) -> tuple[str, ...]:
    """What this verdict leaves out."""
    found = list(NOT_MODELLED)
    if "nitrous" in f"{build.name} {build.choices.get('note', '')}".lower():
        found.insert(2, _NITROUS)
    if build.has("girdle"):
        found.append("The girdle is credited with its tie across the feet by statics only.")
    return tuple(found)


def percent(chance: float) -> str:
    """A chance in words that does not pretend to more than the samples know."""
    if chance >= 0.995:
        return "over 99 %"
    if chance <= 0.005:
        return "under 1 %"
    return f"{100.0 * chance:.0f} %"


def figure(quantity: Quantity) -> str:
    """A quantity with digits that mean something: three figures."""
    value = quantity.value
    digits = max(0, 2 - len(str(int(abs(value)))) + 1) if abs(value) >= 1.0 else 3
    text = f"{value:.{digits}f}" if abs(value) < 1e5 else f"{value:,.0f}"
    return text if quantity.unit == "1" else f"{text} {quantity.unit}"


def sentence(
    power: Quantity, survival: float, accepted: float, governing: Limit, ceiling: Ceiling, lives: bool
) -> str:
    """The verdict in one or two sentences."""
    if lives:
        opening = f"At {figure(power)} this block should live for its duty: chance {percent(survival)}, {percent(accepted)} asked."
    elif survival >= 0.5:
        opening = (
            f"At {figure(power)} this block is not safe for its duty: chance {percent(survival)} that it lives, "
            f"{percent(accepted)} asked."
        )
    else:
        opening = f"At {figure(power)} this block will probably break within its duty: chance {percent(survival)} that it lives."
    what = f"{governing.name[0].lower()}{governing.name[1:]} ({governing.place})" if governing.place else governing.name
    first = f"First to go: {what}, margin {governing.margin.value:.2f}"
    if governing.margin.spread is not None:
        first += f" ({governing.margin.spread.low:.2f} to {governing.margin.spread.high:.2f})"
    if ceiling.power is not None:
        top = f"It stops being safe at about {figure(ceiling.power)}."
    else:
        top = ceiling.reason
    return f"{opening} {first}. {top}"


def names(limits: Sequence[Limit], most: int = 3) -> str:
    """The first few limits by name."""
    return ", ".join(f"{limit.name} ({limit.place})" for limit in limits[:most])
