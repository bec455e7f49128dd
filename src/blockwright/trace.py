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
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
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

#: Arrays up to this size count by their content in a `Memory`, larger ones by being the same array.
_SMALL = 64


class Memory:
    """Results of formulas, so that one formula of the same values is computed once.

    All mains share most of their formulas, a changed build nearly all with the build it came from, and
    what does not depend on the load is the same at every charge.  Formulas are pure, so a result may be
    given again.  A result is kept when every array that made it is known: a leaf, or a result
    kept before.  Arrays over the crank angle are large; only those of formulas marked `lasting` are kept.

    Parameters
    ----------
    room : int
        Bytes of results to keep; when they are spent nothing more is kept.
    """

    def __init__(self, room: int = 200_000_000) -> None:
        self._left = room
        self._known: dict[int, Any] = {}
        self._results: dict[tuple[Any, ...], Any] = {}

    def know(self, value: Any) -> None:
        """Take an array, which must not be changed from now on, for a leaf."""
        self._known[id(value)] = value

    def result(self, function: Callable[..., Any], args: Sequence[Any], named: Mapping[str, Any],
               lasting: bool) -> Any:  # fmt: skip
        """What `function` gives, computed or remembered."""
        key: list[Any] = [function]
        known = self._known
        for value in (*args, *named, *named.values()) if named else args:
            if type(value) is not np.ndarray:
                key.append((value,))
            elif value.size <= _SMALL:
                key.append((value.shape, value.tobytes()))
            elif id(value) in known:
                key.append(id(value))
            else:
                return function(*args, **named)
        place = tuple(key)
        if place in self._results:
            return self._results[place]
        found = function(*args, **named)
        size = found.nbytes if isinstance(found, np.ndarray) else 0
        if size <= self._left and (lasting or size == 0 or found.ndim < 4 or found.shape[3] == 1):
            self._left -= size
            self._results[place] = found
            known[id(found)] = found
        return found


_memory: ContextVar[Memory | None] = ContextVar("memory", default=None)


@contextmanager
def remembering(memory: Memory) -> Iterator[None]:
    """Within it, formulas of arrays give again what `memory` holds."""
    token = _memory.set(memory)
    try:
        yield
    finally:
        _memory.reset(token)


def leaf_array(value: Array) -> Array:
    """The same array, known as a leaf to the memory in use."""
    memory = _memory.get()
    if memory is not None:
        memory.know(value)
    return value


def formula(
    *, symbol: str, unit: str, equation: str, source: str, valid: str = "", lasting: bool = False
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
    lasting : bool
        Whether a `Memory` keeps the result although it has a crank-angle axis: many read it again.

    Returns
    -------
    callable
        The function; it computes on arrays, and records on `Traced` values.
        Array parameters may be `Traced`; strings, bools and ints are settings.
    """

    def register(function: Callable[P, R]) -> Callable[P, Any]:
        doc = (function.__doc__ or function.__name__).strip()
        info = FormulaInfo(
            name=f"{function.__module__.removeprefix('blockwright.')}.{function.__name__}",
            title=doc.splitlines()[0].rstrip("."),
            symbol=symbol,
            unit=unit,
            equation=equation,
            source=source,
            valid=valid,
        )

        @functools.wraps(function)
        def call(*args: P.args, **kwargs: P.kwargs) -> Any:
            if Traced not in map(type, args) and Traced not in map(type, kwargs.values()):
                memory = _memory.get()
                if memory is None:
                    return function(*args, **kwargs)
                return memory.result(function, args, kwargs, lasting)
            bound = inspect.signature(function).bind(*args, **kwargs)
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
