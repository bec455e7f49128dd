"""The verdict in words, what it leaves out, and the cautions."""

from __future__ import annotations

from ..build.model import Build
from .verdict import Ceiling, Limit, Quantity

CAUTIONS = (
    "These are estimates from measurements, assumptions and models, not a certification. An engine can "
    "burst: a burst block, flywheel, clutch or fan, pressurised nitrous oxide and fuels can kill. Guards "
    "and scatter shields, the rules of your sanctioning body, local codes and the judgement of licensed "
    "practice come before anything said here.",
)

#: What no figure of this version contains.
NOT_MODELLED = (
    "Vibration: block, caps and shaft are rigid. Caps that rock fore and aft, resonance, and the shaft's "
    "bending and twist are in no figure; what a girdle, grout or a top plate does by stiffness and damping "
    "is therefore absent.",
    "Damage by knock: the margin to it is told at every duty point, but an engine that knocks is counted as "
    "one that does not. Knock bursts enter only as the pressure ratio you give, on walls and rods.",
    "Oil films, bearings' lives and oil supply.",
    "Stress and heat in pistons, rings and pins; the valve train; the crankshaft's own strength.",
    "Differences of mixture between cylinders (those of filling by the pipes are in); lean cylinders and hot "
    "restarts as events.",
    "Cracks already there, porosity and cold shuts: sound iron of the stated class is taken.",
    "Corrosion and cavitation in the jackets, repairs, earlier damage.",
)
_NITROUS = (
    "Nitrous oxide's events in the chance: backfire, a stuck valve, hydraulic lock, lean-out as the bottle's "
    "state drifts."
)
_UNSPECIFIED = (
    "The nitrous oxide that the name or note speaks of: give a [nitrous] section and it is computed."
)
_GIRDLE = "The girdle is credited with its tie across the feet, by statics only."


def not_modelled(build: Build) -> tuple[str, ...]:
    """What this verdict leaves out."""
    found = list(NOT_MODELLED)
    if build.has("nitrous"):
        found.insert(1, _NITROUS)
    elif "nitrous" in f"{build.name} {build.choices.get('note', '')}".lower():
        found.insert(1, _UNSPECIFIED)
    if build.has("girdle"):
        found.append(_GIRDLE)
    return tuple(found)


def exactly(chance: float) -> str:
    """A chance that is asked for, as it was given."""
    return f"{100.0 * chance:g} %"


def percent(chance: float) -> str:
    """A chance in words that does not pretend to more than the samples know."""
    if chance >= 0.995:
        return "over 99 %"
    if chance <= 0.005:
        return "under 1 %"
    return f"{100.0 * chance:.0f} %"


def figure(quantity: Quantity) -> str:
    """A quantity with three figures."""
    value = quantity.value
    whole = len(str(int(abs(value))))
    text = f"{value:,.{max(0, 3 - whole)}f}"
    return text if quantity.unit == "1" else f"{text} {quantity.unit}"


def sentence(
    power: Quantity, survival: float, accepted: float, governing: Limit, ceiling: Ceiling, lives: bool
) -> str:
    """The verdict in three short sentences: will it live, what goes first, where it stops being safe."""
    at, chance, asked = figure(power), percent(survival), exactly(accepted)
    if lives:
        opening = f"At {at} this block should live for its duty: chance {chance}, with {asked} asked."
    elif survival >= 0.5:
        opening = f"At {at} this block is not safe for its duty: chance {chance}, with {asked} asked."
    else:
        opening = f"At {at} this block will probably break within its duty: chance {chance} that it lives."
    name = f"{governing.name[0].lower()}{governing.name[1:]}"
    first = f"Likeliest to go first: {name}" + (f" ({governing.place})" if governing.place else "")
    first += f", margin {governing.margin.value:.2f}"
    if governing.margin.spread is not None:
        first += f" ({governing.margin.spread.low:.2f} to {governing.margin.spread.high:.2f})"
    if ceiling.power is None:
        top = ceiling.reason
    else:
        top = f"It stops being safe at about {figure(ceiling.power)}"
        half = ceiling.fails_at.p50
        top += f"; half of such engines would break by {half:,.0f} {ceiling.fails_at.unit}." if half else "."
    return f"{opening} {first}. {top}"
