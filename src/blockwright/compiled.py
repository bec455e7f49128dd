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


def kernel(function: F) -> F:
    """Decorator of every kernel: compiled when first called, then kept on disk."""
    return cast(F, _compile(function))
