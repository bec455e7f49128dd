"""Build files of older formats, brought up to the present one by pure functions.

``UPGRADES[n]`` takes the document of format n to format n + 1.  There has been one
format so far.  A frozen sample of every format stays in ``tests/build/samples``.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping
from typing import Any

from ..errors import Fault, InputError

FORMAT = 1
Upgrade = Callable[[dict[str, Any]], dict[str, Any]]
UPGRADES: dict[int, Upgrade] = {}


def upgraded(
    document: Mapping[str, Any], upgrades: Mapping[int, Upgrade] | None = None, present: int = FORMAT
) -> dict[str, Any]:
    """The document in the present format; the argument stays as it is.

    Parameters
    ----------
    document : mapping
        A parsed build file.
    upgrades : mapping or None
        Format to the function that leads to the next one; the real ones when None.
    present : int
        The format to reach.

    Raises
    ------
    InputError
        When the format is missing, is no whole number, or is not known here.
    """
    chain = UPGRADES if upgrades is None else upgrades
    found = document.get("format")
    if "format" not in document:
        raise InputError(Fault("format", "nothing", f"begin the file with format = {present}"))
    if not isinstance(found, int) or isinstance(found, bool):
        raise InputError(Fault("format", repr(found)[:40], f"write a whole number, format = {present}"))
    if found > present:
        right = f"this version reads up to format {present}; install a newer Blockwright"
        raise InputError(Fault("format", str(found)[:40], right))
    result = copy.deepcopy(dict(document))
    for number in range(found, present):
        if number not in chain:
            right = f"there has been no such format; write format = {present}"
            raise InputError(Fault("format", str(found)[:40], right))
        result = {**chain[number](result), "format": number + 1}
    return result
