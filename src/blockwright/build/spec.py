"""The build file, format 1: all its sections, and the duty."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from . import spec_block as block
from . import spec_breathing as breathing
from . import spec_charge as charge
from . import spec_engine as engine
from .fields import SHARE, Line, Section
from .quantity import Quantity

Q = Quantity
_TIMES = Q("number", "0", "1e6", "How often in the whole duty; a fraction is a chance.", "1", chosen=True)


class DutyPoint(Section):
    """One speed and load of the duty."""

    speed: Annotated[Any, Q("turning speed", "300 rpm", "25000 rpm", "Speed.", "6500 rpm", chosen=True)]
    load: Annotated[
        Any, Q("number", "0.05", "1", "Torque over that of full load at this speed.", "1.0", chosen=True)
    ]
    share: Annotated[
        Any,
        Q(SHARE.dimension, SHARE.low, SHARE.high, "Of the duty's time; all together 1.", "0.5", chosen=True),
    ]


class MissedShift(Section):
    """The engine runs past its speed."""

    count: Annotated[Any, _TIMES] = None
    speed: Annotated[
        Any, Q("turning speed", "500 rpm", "30000 rpm", "Highest speed reached.", "7200 rpm")
    ] = None


class KnockBurst(Section):
    """A spell of knocking."""

    count: Annotated[Any, _TIMES] = None
    cycles: Annotated[
        Any, Q("number", "1", "10000", "Knocking cycles of one cylinder in one spell.", "20")
    ] = None
    pressure_ratio: Annotated[
        Any, Q("number", "1", "4", "Peak pressure while knocking over the usual peak.", "1.5")
    ] = None


class Count(Section):
    """Something that goes wrong so many times."""

    count: Annotated[Any, _TIMES] = None


class Events(Section):
    """How often things go wrong."""

    missed_shift: Annotated[MissedShift | None, Field(description="Missed shifts.")] = None
    knock_burst: Annotated[KnockBurst | None, Field(description="Spells of knock.")] = None
    lean_cylinder: Annotated[Count | None, Field(description="One cylinder running lean.")] = None
    hot_restart: Annotated[Count | None, Field(description="Restarts of a hot engine.")] = None


class Duty(Section):
    """What it must live through."""

    kind: Annotated[
        Literal["passes", "hours"],
        Field(description="Runs of a fixed time (passes), or hours.", examples=["passes"]),
    ]
    passes: Annotated[int | None, Field(description="How many runs.", ge=1, le=1_000_000)] = None
    pass_time: Annotated[Any, Q("time", "1 s", "24 h", "Full-load time of one run.", "45 s", chosen=True)] = (
        None
    )
    hours: Annotated[Any, Q("time", "1 min", "100000 h", "Running time in all.", "30 h", chosen=True)] = None
    points: Annotated[
        list[DutyPoint] | None,
        Field(description="Speeds and loads with their shares of the time.", min_length=1, max_length=24),
    ] = None
    events: Annotated[Events | None, Field(description="How often things go wrong.")] = None


class BuildFile(Section):
    """One engine build, as measured and as wanted."""

    format: Annotated[Literal[1], Field(description="Format of this file.", examples=[1])]
    name: Annotated[Line | None, Field(description="What you call it.")] = None
    note: Annotated[str | None, Field(description="Anything worth keeping.", max_length=20_000)] = None
    invented: Annotated[
        bool | None, Field(description="Whether the numbers are made up, as in a demonstration.")
    ] = None
    layout: Annotated[engine.Layout, Field(description="Cylinders, banks and crankpins.")]
    target: Annotated[engine.Target, Field(description="What the customer wants.")]
    casting: Annotated[block.Casting, Field(description="The bare block.")]
    caps: Annotated[block.Caps, Field(description="Main caps.")]
    main_fasteners: Annotated[
        block.Fasteners | None, Field(description="Inner (or only) main bolts or studs.")
    ] = None
    outer_fasteners: Annotated[
        block.Fasteners | None, Field(description="Outer main bolts or studs of four-bolt caps.")
    ] = None
    head_fasteners: Annotated[block.HeadFasteners | None, Field(description="Head bolts or studs.")] = None
    girdle: Annotated[block.Girdle | None, Field(description="Present only when one is fitted.")] = None
    crank: Annotated[engine.Crank, Field(description="The crankshaft.")]
    rods: Annotated[engine.Rods, Field(description="Connecting rods.")]
    rod_bolts: Annotated[block.RodBolts | None, Field(description="Rod bolts.")] = None
    pistons: Annotated[engine.Pistons | None, Field(description="Pistons, pins and rings.")] = None
    heads: Annotated[engine.Heads, Field(description="Cylinder heads.")]
    cam: Annotated[engine.Cam | None, Field(description="Valve events.")] = None
    intake: Annotated[breathing.Intake | None, Field(description="Intake side.")] = None
    exhaust: Annotated[breathing.Exhaust | None, Field(description="Exhaust side.")] = None
    fuel: Annotated[breathing.Fuel | None, Field(description="Fuel and mixture.")] = None
    spark: Annotated[breathing.Spark, Field(description="Spark and burning at full load.")]
    nitrous: Annotated[charge.Nitrous | None, Field(description="Present only when it is fitted.")] = None
    boost: Annotated[charge.Boost | None, Field(description="Charge pressure.")] = None
    turbo: Annotated[charge.Turbo | None, Field(description="The turbocharger as a machine.")] = None
    blower: Annotated[charge.Blower | None, Field(description="The blower as a machine.")] = None
    conditions: Annotated[breathing.Conditions | None, Field(description="Surrounding air.")] = None
    duty: Annotated[Duty, Field(description="What it must live through.")]
