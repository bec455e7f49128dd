"""Contradictions among caps and fasteners."""

from __future__ import annotations

from collections.abc import Iterator

from ..errors import Fault
from .checks_common import Check, shown
from .draft import Draft

SETS = ("main_fasteners", "outer_fasteners", "head_fasteners", "rod_bolts")


def tightening(section: str) -> Check:
    """A way of tightening needs its figure; the figures of other ways would mislead."""

    def check(d: Draft) -> Iterator[Fault]:
        path = f"{section}.tighten"
        if path not in d.choices:
            return
        way = d.word(path)
        figure = f"{section}.{way}"
        if path in d.given and figure not in d.given and figure not in d.bad:
            example = {"torque": "100 lbf*ft", "angle": "90 deg", "stretch": "0.006 in"}[way]
            right = f'it is tightened by {way}: give it, for instance {way} = "{example}"'
            yield Fault(figure, "nothing", right)
        if path not in d.given:
            return
        for other in {"torque", "angle", "stretch"} - {way}:
            if f"{section}.{other}" in d.given:
                read = shown(d, f"{section}.{other}")
                yield Fault(f"{section}.{other}", read, f'leave it out: {path} is "{way}"')

    return check


def stretch(section: str) -> Check:
    """A stretch of more than 1 % of the grip is past any fastener's yield."""

    def check(d: Draft) -> Iterator[Fault]:
        path, grip = f"{section}.stretch", f"{section}.grip"
        if path in d.given and d.si(path) > 0.012 * d.si(grip):
            yield Fault(path, shown(d, path), f"over a grip of {shown(d, grip)} it would yield; check both")

    return check


def four_bolt_mains(d: Draft) -> Iterator[Fault]:
    """Mains that exist, each once, and only when the pattern has four."""
    if "caps.four_bolt_mains" not in d.given:
        return
    mains = d.numbers("caps.four_bolt_mains")
    written = ", ".join(map(str, mains))
    if d.word("caps.pattern") == "two-bolt":
        right = 'leave it out, or give caps.pattern = "four-bolt-straight" or "four-bolt-splayed"'
        yield Fault("caps.four_bolt_mains", written, right)
        return
    count = len(d.series("layout.throws")) + 1
    if count > 1 and (min(mains) < 1 or max(mains) > count or len(set(mains)) < len(mains)):
        yield Fault("caps.four_bolt_mains", written, f"name mains 1 to {count}, each once")


def outer_fasteners(d: Draft) -> Iterator[Fault]:
    """Two-bolt caps have no outer fasteners."""
    if d.word("caps.pattern") != "two-bolt":
        return
    given = sorted(path for path in d.given if path.startswith("outer_fasteners."))
    if given:
        right = "leave the section out, or give a caps.pattern with four bolts"
        yield Fault("outer_fasteners", "a section", f'{right}: it is "two-bolt"')
    for path in ("caps.outer_span", "caps.splay"):
        if path in d.given:
            yield Fault(path, shown(d, path), 'leave it out: caps.pattern is "two-bolt"')


def splay(d: Draft) -> Iterator[Fault]:
    """Straight bolts do not lean."""
    if (
        "caps.splay" in d.given
        and d.word("caps.pattern") == "four-bolt-straight"
        and d.si("caps.splay") > 1e-9
    ):
        right = 'leave it out, or give caps.pattern = "four-bolt-splayed"'
        yield Fault("caps.splay", shown(d, "caps.splay"), right)


def foot_and_bolt(d: Draft) -> Iterator[Fault]:
    """A foot must hold its fastener."""
    from . import catalogue

    major = catalogue.row("thread", d.word("main_fasteners.thread")).si("major")
    thread = d.word("main_fasteners.thread")
    if d.si("caps.span") <= d.si("casting.main_bore"):
        return  # named by the check of the two
    if d.si("caps.span") - major <= d.si("casting.main_bore"):
        bore = shown(d, "casting.main_bore")
        path = "caps.span" if "caps.span" in d.given else "main_fasteners.thread"
        read = shown(d, path) if path == "caps.span" else thread
        yield Fault(path, read, f"a {thread} fastener there would cut into the main bore, {bore}")
    elif "caps.foot_width" in d.given and d.si("caps.foot_width") <= 1.05 * major:
        right = f"the foot must be wider than its {thread} fastener"
        yield Fault("caps.foot_width", shown(d, "caps.foot_width"), right)


FASTENER_CHECKS: tuple[Check, ...] = (
    *(tightening(section) for section in SETS),
    *(stretch(section) for section in SETS),
    four_bolt_mains,
    outer_fasteners,
    splay,
    foot_and_bolt,
)
