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

#: Versions of Numba with which `_without_compiler` was tried.
_TRIED = ("0.68.",)


def _without_compiler(dispatcher: Any) -> None:
    """Load machine code from disk without first making Numba's compiler ready.

    Numba makes the compiler ready (0.4 s: all that it knows of Python and NumPy) before it looks whether
    the code lies on disk.  Loading needs only its memory manager, and compiling makes the rest
    ready itself.  With any other version than those tried, Numba's own way stays.
    """
    import numba

    if not numba.__version__.startswith(_TRIED):
        return
    from numba.core.runtime.nrt import rtsys

    cache = dispatcher._cache

    def load_overload(signature: Any, target: Any) -> Any:
        rtsys.initialize(target)
        with cache._guard_against_spurious_io_errors():
            return cache._load_overload(signature, target)
        return None  # an error of reading was swallowed: compile

    cache.load_overload = load_overload


def kernel(function: F) -> F:
    """Decorator of every kernel: compiled when first called, then kept on disk."""
    compiled = _compile(function)
    _without_compiler(compiled)
    return cast(F, compiled)
