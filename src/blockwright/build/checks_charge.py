"""Contradictions among turbocharger, blower, nitrous oxide and the boost that they make."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ..errors import Fault
from ..units import show
from .checks_common import Check, need, shown
from .draft import Draft
from .model import beside

#: Filling of a bottle [kg/m3]: above the first it bursts when warmed, below the second it is a slip.
_FULLEST, _EMPTIEST = 760.0, 100.0


def machines(d: Draft) -> Iterator[Fault]:
    """A machine needs boost of its kind, and leaves nothing of it to be told."""
    kind = str(d.choices.get("boost.kind", "none"))
    for machine in ("turbo", "blower"):
        if not d.fitted(machine):
            continue
        if kind != machine:
            told = f'boost.kind is "{kind}"' if "boost.kind" in d.given else "nothing is said of boost"
            right = f'give boost.kind = "{machine}" with it, or leave the section out; {told}'
            yield Fault(machine, f"a section [{machine}]", right)
            continue
        known = ("temperature", "exhaust_pressure") if machine == "turbo" else ("temperature",)
        for name in known:
            path = f"boost.{name}"
            if path in d.given:
                right = f"leave it out: it is computed from [{machine}]; or leave that section out"
                yield Fault(path, shown(d, path), right)


def wheels(d: Draft) -> Iterator[Fault]:
    """Compressor and turbine of one rotor are of a size; a wastegate is smaller than its turbine."""
    if not d.fitted("turbo"):
        return
    given = [p for p in ("turbo.turbine_diameter", "turbo.compressor_diameter") if p in d.given]
    ratio = d.si("turbo.turbine_diameter") / d.si("turbo.compressor_diameter")
    if given and not 0.5 <= ratio <= 1.6:
        right = f"turbine over compressor would be {ratio:.2g}; 0.5 to 1.6 can be. Check the unit"
        yield Fault(given[0], shown(d, given[0]), right)
    path, disc = "turbo.turbine_area", math.pi / 4.0 * d.si("turbo.turbine_diameter") ** 2
    if path in d.given and not 0.04 <= d.si(path) / disc <= 1.0:
        right = f"it is {d.si(path) / disc:.2g} of the turbine wheel's disc; 0.04 to 1 can be. Check the unit"
        yield Fault(path, shown(d, path), right)
    path = "turbo.wastegate_diameter"
    if path in d.given and d.si(path) > 1.6 * d.si("turbo.turbine_diameter"):
        right = f"it is over 1.6 turbine diameters, {shown(d, 'turbo.turbine_diameter')}; check the unit"
        yield Fault(path, shown(d, path), right)


def cooler(d: Draft) -> Iterator[Fault]:
    """Without a cooler it loses nothing and needs no cold."""
    for machine in ("turbo", "blower"):
        if not d.fitted(machine) or d.si(f"{machine}.cooler_effectiveness") > 0.0:
            continue
        for name in ("cooler_drop", "cooling_temperature"):
            path = f"{machine}.{name}"
            if path in d.given:
                right = f"give {machine}.cooler_effectiveness with it: there is no cooler"
                yield Fault(path, shown(d, path), right)


def blower(d: Draft) -> Iterator[Fault]:
    """Lobes and screws move a volume; an impeller has a diameter and a map."""
    if not d.fitted("blower"):
        return
    principle = d.word("blower.principle")
    impeller = ("blower.impeller_diameter", "blower.compressor_map", "blower.trim")
    if principle == "centrifugal":
        wrong: tuple[str, ...] = ("blower.displacement",)
    else:
        wrong = impeller
        yield from need(d, "blower.displacement", f"give what the {principle} blower moves in one turn")
    for path in wrong:
        if path in d.given:
            read = shown(d, path) if path in d.values else str(d.choices[path])
            yield Fault(path, read, f'leave it out: blower.principle is "{principle}"')


def maps(d: Draft) -> Iterator[Fault]:
    """A map that is named must be there, and tells its own trim."""
    for machine in ("turbo", "blower"):
        path = f"{machine}.compressor_map"
        if path not in d.choices:
            continue
        if f"{machine}.trim" in d.given:
            right = f"leave it out: {path} tells it"
            yield Fault(f"{machine}.trim", shown(d, f"{machine}.trim"), right)
        name = d.word(path)
        file = beside(d.source, name)
        try:
            there, folder = file.is_file(), file.parent
        except (OSError, ValueError):
            yield Fault(path, repr(name)[:60], "name a file")
            continue
        if not there:
            right = f"there is no such file in {folder.resolve()}; name it relative to the build file"
            yield Fault(path, repr(name)[:60], right)


def nitrous_size(d: Draft) -> Iterator[Fault]:
    """From jets follows the power, from the power the jets: one of them is given."""
    if not d.fitted("nitrous"):
        return
    jet, power = "nitrous.jet", "nitrous.power"
    if jet in d.given and power in d.given:
        right = f"give one of the two: from nitrous.power, {shown(d, power)}, the jet is computed"
        yield Fault(jet, shown(d, jet), right)
    elif not {jet, power} & (d.given | d.bad):
        yield Fault(power, "nothing", "give the power wanted from it, or nitrous.jet")
    path = "nitrous.fuel_jet"
    if path in d.given and d.word("nitrous.mode") == "dry":
        yield Fault(path, shown(d, path), 'leave it out: nitrous.mode is "dry"')
    elif path in d.given and power in d.given:
        yield Fault(path, shown(d, path), "leave it out: it is computed with the jet from nitrous.power")
    path = "nitrous.fuel_pressure"
    if path in d.given and d.word("nitrous.mode") == "dry":
        yield Fault(path, shown(d, path), 'leave it out: nitrous.mode is "dry"')


def nitrous_place(d: Draft) -> Iterator[Fault]:
    """Port jets serve every cylinder alike; individual runners have no plate."""
    if not d.fitted("nitrous"):
        return
    jets, cylinders = d.count("nitrous.jets"), d.count("layout.cylinders")
    if d.word("nitrous.place") == "port":
        if jets % cylinders:
            right = f"jets at the ports are as many as cylinders, {cylinders}, or a multiple"
            yield Fault("nitrous.jets", str(jets), right)
    elif d.word("intake.layout") == "individual":
        right = 'give nitrous.place = "port": individual runners have no plate'
        yield Fault("nitrous.place", "plate", right)
    path = "nitrous.activation_speed"
    if path in d.given and d.si(path) >= d.si("target.speed"):
        right = f"it must lie below target.speed, {shown(d, 'target.speed')}, or it never flows there"
        yield Fault(path, shown(d, path), right)


def bottle(d: Draft) -> Iterator[Fault]:
    """A bottle is neither fuller than is safe nor all but empty."""
    if not d.fitted("nitrous"):
        return
    path = "nitrous.bottle_volume"
    density = d.si("nitrous.bottle_mass") / d.si(path)
    if path in d.given and not _EMPTIEST <= density <= _FULLEST:
        unit = d.values[path].unit
        mass = d.si("nitrous.bottle_mass")
        low, high = (show(mass / rho, unit, 2) for rho in (_FULLEST, _EMPTIEST))
        right = (
            f"{shown(d, 'nitrous.bottle_mass')} in it would be {density / 1e3:.2g} kg/l; "
            f"{low} to {high} can be (the usual filling is 0.68 kg/l)"
        )
        yield Fault(path, shown(d, path), right)


CHARGE_CHECKS: tuple[Check, ...] = (
    machines,
    wheels,
    cooler,
    blower,
    maps,
    nitrous_size,
    nitrous_place,
    bottle,
)
