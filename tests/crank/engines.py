"""Layouts that the crank's tests share: every kind that the build file can say."""

import numpy as np

from blockwright.crank.layout import layout
from blockwright.crank.loads import LoadModel

DEG = np.pi / 180
LAYOUTS = {
    "single": {"kind": "inline", "cylinders": 1, "order": [1]},
    "inline 3": {"kind": "inline", "cylinders": 3, "order": [1, 3, 2]},
    "inline 4": {"kind": "inline", "cylinders": 4, "order": [1, 3, 4, 2]},
    "inline 5": {"kind": "inline", "cylinders": 5, "order": [1, 2, 4, 5, 3]},
    "inline 6": {"kind": "inline", "cylinders": 6, "order": [1, 5, 3, 6, 2, 4]},
    "V-twin, 45 degrees": {
        "kind": "V",
        "cylinders": 2,
        "order": [1, 2],
        "bank_angle": 45 * DEG,
        "throws": [0.0],
    },
    "V6, 90 degrees, pins split by 30": {
        "kind": "V",
        "cylinders": 6,
        "order": [1, 2, 3, 4, 5, 6],
        "bank_angle": 90 * DEG,
        "split": 30 * DEG,
    },
    "V6, 60 degrees, pins split by 60": {
        "kind": "V",
        "cylinders": 6,
        "order": [1, 6, 5, 4, 3, 2],
        "bank_angle": 60 * DEG,
        "split": 60 * DEG,
    },
    "cross-plane V8, bank B leads": {
        "kind": "V",
        "cylinders": 8,
        "order": [1, 8, 4, 3, 6, 5, 7, 2],
        "bank_angle": 90 * DEG,
        "throws": [0.0, 90 * DEG, 270 * DEG, 180 * DEG],
    },
    "cross-plane V8, bank A leads": {
        "kind": "V",
        "cylinders": 8,
        "order": [1, 3, 7, 2, 6, 5, 4, 8],
        "bank_angle": 90 * DEG,
        "numbering": "by-bank",
    },
    "flat-plane V8": {
        "kind": "V",
        "cylinders": 8,
        "order": [1, 8, 3, 6, 4, 5, 2, 7],
        "bank_angle": 90 * DEG,
        "throws": [0.0, np.pi, np.pi, 0.0],
        "numbering": "by-bank",
    },
    "V10, 72 degrees": {
        "kind": "V",
        "cylinders": 10,
        "order": [1, 6, 5, 10, 2, 7, 3, 8, 4, 9],
        "bank_angle": 72 * DEG,
        "numbering": "by-bank",
    },
    "V12, 60 degrees": {
        "kind": "V",
        "cylinders": 12,
        "order": [1, 7, 5, 11, 3, 9, 6, 12, 2, 8, 4, 10],
        "bank_angle": 60 * DEG,
        "numbering": "by-bank",
    },
    "flat 4": {"kind": "flat", "cylinders": 4, "order": [1, 3, 2, 4]},
    "flat 6": {"kind": "flat", "cylinders": 6, "order": [1, 6, 2, 4, 3, 5], "numbering": "by-bank"},
}


def make_layout(name, **changes):
    """The layout of that name, bores 110 mm apart, bank B 22 mm behind bank A."""
    return layout(**({"bore_spacing": 0.110, "bank_offset": 0.022} | LAYOUTS[name] | changes))


def make_model(name, **changes):
    """An invented engine of that layout, bore 102 mm, stroke 88 mm."""
    values = {
        "layout": make_layout(name),
        "radius": 0.044,
        "rod_length": 0.145,
        "pin_offset": 0.001,
        "piston_area": np.pi / 4 * 0.102**2,
        "recip_mass": 0.65,
        "rot_mass": 0.45,
        "throw_moment": 0.03,
        "balance": 0.5,
        "counterweight": "full",
    }
    return LoadModel(**(values | changes))


def pulse(cylinders, peak=8e6, ca=14.0, spread=0.0):
    """Invented pressure traces: a rounded peak after the firing dead centre, one a cylinder."""
    angle = (np.arange(720) + 360) % 720 - 360.0
    trace = peak * np.exp(-(((angle - ca) / 30.0) ** 2)) + 2e4 * np.sin(np.radians(angle))
    return trace[None, :] * (1 + spread * np.linspace(-1, 1, cylinders)[:, None])
