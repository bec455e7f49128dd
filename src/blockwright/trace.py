"""Formulas that know their own symbol, unit, equation and source.

A *formula* is a plain function of arrays, registered with `formula`.  Called on
arrays it just computes.  Called on `Traced` values it also records what went in,
so that a figure can be explained by replaying exactly the code that made it.

`Traced` has no arithmetic: under a tracer only registered formulas may combine
values.  A sum written outside a formula fails loudly instead of vanishing from
the explanation.
"""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, ParamSpec, TypeAlias, TypeVar

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[np.float64]
P = ParamSpec("P")
R = TypeVar("R")


@dataclass(frozen=True)
class FormulaInfo:
    """What a registered formula says of itself."""

    name: str
    title: str
    symbol: str
    unit: str
    equation: str
    source: str
    valid: str


@dataclass(frozen=True)
class Leaf:
    """A value that no formula made: where it came from.

    Attributes
    ----------
    kind : str
        ``"build"`` (a field of the build file), ``"catalogue"`` (a row of data),
        ``"model"`` (a constant or error of a model, from ``models.toml``) or
        ``"kernel"`` (a numerical solution: gas cycle, loads, frame).
    name : str
        Path, row or quantity.
    place, provenance, source, key : str
        Place in the engine; how it is known; its source; the cache key of a kernel.
    spread : float
        Standard uncertainty in the unit of the value, 0 when exact.
    """

    kind: str
    name: str
    unit: str
    place: str = ""
    provenance: str = ""
    source: str = ""
    key: str = ""
    spread: float = 0.0


@dataclass(frozen=True)
class Node:
    """One value in an explanation: a leaf, or a formula and its inputs."""

    value: Array
    leaf: Leaf | None = None
    formula: FormulaInfo | None = None
    inputs: Mapping[str, Node] = field(default_factory=dict)
    settings: Mapping[str, object] = field(default_factory=dict)

    def walk(self) -> Iterator[Node]:
        """Every node below and including this one, inputs first, each once."""
        seen: set[int] = set()

        def visit(node: Node) -> Iterator[Node]:
            if id(node) in seen:
                return
            seen.add(id(node))
            for child in node.inputs.values():
                yield from visit(child)
            yield node

        yield from visit(self)


class Traced:
    """A value under the tracer.  It refuses arithmetic outside formulas."""

    __slots__ = ("node",)
    __array_ufunc__ = None

    def __init__(self, node: Node) -> None:
        self.node = node

    @property
    def value(self) -> Array:
        return self.node.value

    def __array__(self, *_: object, **__: object) -> Array:
        raise TypeError(
            f"a traced value ({self.node.formula or self.node.leaf}) was used outside a "
            "registered formula; move that arithmetic into a function under @formula"
        )

    def __repr__(self) -> str:
        return f"Traced({self.value!r})"


#: What formulas take and give: an array of samples, or one traced value.
Value: TypeAlias = Any

_REGISTRY: dict[str, Callable[..., Any]] = {}


def formula(
    *, symbol: str, unit: str, equation: str, source: str, valid: str = ""
) -> Callable[[Callable[P, R]], Callable[P, Any]]:
    """Register a function as a formula.

    Parameters
    ----------
    symbol, unit : str
        Symbol and SI unit of the result (``"1"`` for none).
    equation : str
        The equation in plain text, in the symbols of the parameters.
    source : str
        Where it comes from, with ``from memory`` or ``common practice, no source``
        where that is so, or ``statics`` / ``definition`` for exact results.
    valid : str
        Range of validity in words.

    Returns
    -------
    callable
        The function; it computes on arrays, and records on `Traced` values.
        Array parameters may be `Traced`; strings, bools and ints are settings.
    """

    def register(function: Callable[P, R]) -> Callable[P, Any]:
        doc = inspect.getdoc(function) or function.__name__
        info = FormulaInfo(
            name=f"{function.__module__.removeprefix('blockwright.')}.{function.__name__}",
            title=doc.splitlines()[0].rstrip("."),
            symbol=symbol,
            unit=unit,
            equation=equation,
            source=source,
            valid=valid,
        )
        signature = inspect.signature(function)

        @functools.wraps(function)
        def call(*args: P.args, **kwargs: P.kwargs) -> Any:
            if Traced not in map(type, args) and Traced not in map(type, kwargs.values()):
                return function(*args, **kwargs)
            bound = signature.bind(*args, **kwargs)
            bound.apply_defaults()
            inputs: dict[str, Node] = {}
            settings: dict[str, object] = {}
            plain: dict[str, Any] = {}
            compute: Callable[..., Any] = function
            for name, given in bound.arguments.items():
                if isinstance(given, Traced):
                    inputs[name] = given.node
                    plain[name] = given.value
                else:
                    settings[name] = given
                    plain[name] = given
            result = np.asarray(compute(**plain), dtype=np.float64)
            return Traced(Node(result, formula=info, inputs=inputs, settings=settings))

        call.info = info  # type: ignore[attr-defined]
        _REGISTRY[info.name] = call
        return call

    return register


def registered() -> Mapping[str, Callable[..., Any]]:
    """Every formula registered so far, by name."""
    return dict(_REGISTRY)
