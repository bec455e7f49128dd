"""The one way in which kernels are compiled: into our own cache folder, free of the interpreter lock.

Importing this module sets that folder before Numba reads its settings, whatever imports it first.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

from .cache import prepare_compile_cache

F = TypeVar("F", bound=Callable[..., Any])


def _njit() -> Callable[[Any], Any]:
    prepare_compile_cache()
    from numba import njit

    # Division by zero gives inf, as in NumPy.
    return cast(Callable[[Any], Any], njit(cache=True, nogil=True, error_model="numpy"))


_compile = _njit()


def _without_compiler(dispatcher: Any) -> None:
    """Load machine code from disk without first making Numba's compiler ready.

    Numba makes the compiler ready (0.4 s: all that it knows of Python and NumPy) before it looks whether
    the code lies on disk.  Loading does not need it, and compiling makes it ready itself.  Where
    Numba's insides are not as expected, its own way stays.
    """
    cache = getattr(dispatcher, "_cache", None)
    guard = getattr(cache, "_guard_against_spurious_io_errors", None)
    inner = getattr(cache, "_load_overload", None)
    if cache is None or guard is None or inner is None or not hasattr(cache, "load_overload"):
        return

    def load_overload(signature: Any, target: Any) -> Any:
        with guard():
            return inner(signature, target)
        return None  # an error of reading was swallowed: compile

    cache.load_overload = load_overload


def kernel(function: F) -> F:
    """Decorator of every kernel: compiled when first called, then kept on disk."""
    compiled = _compile(function)
    _without_compiler(compiled)
    return cast(F, compiled)
