"""Write a build back: comments, order and units as the user left them."""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path
from typing import Any

from ..errors import InputError
from .model import Build


def text_of(build: Build) -> str:
    """Text of the build's file: as read when nothing changed, else with the changes put in."""
    if not build.changes:
        return build.text
    import tomlkit

    from .changes import set_at

    mark = "\ufeff" if build.text.startswith("\ufeff") else ""
    document: Any = tomlkit.parse(build.text.removeprefix("\ufeff"))
    for path, new in build.changes.items():
        set_at(document, path.split("."), new)
    return mark + tomlkit.dumps(document)


def save(build: Build | str, path: str | os.PathLike[str]) -> None:
    """Write a build (or the text of one) to a file, whole or not at all.

    Parameters
    ----------
    build : Build or str
        What to write.
    path : str or path
        The file; an older one is replaced in one step.

    Raises
    ------
    InputError
        When the file cannot be written; the older one is then still there.
    """
    text = build if isinstance(build, str) else text_of(build)
    target = Path(path)
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(prefix=f".{target.name}.", dir=target.parent or ".")
        with os.fdopen(handle, "wb") as file:
            file.write(text.encode("utf-8"))
            file.flush()
            os.fsync(file.fileno())
        _keep_mode(target, temporary)
        os.replace(temporary, target)
    except OSError as error:
        if temporary:
            with contextlib.suppress(OSError):
                os.unlink(temporary)
        raise InputError(f"{target}: it cannot be written ({error.strerror})") from None


def _keep_mode(target: Path, temporary: str) -> None:
    """A temporary file is private; the build gets the mode of the old file, or the usual one."""
    if target.exists():
        mode = target.stat().st_mode & 0o777
    else:
        mask = os.umask(0)
        os.umask(mask)
        mode = 0o666 & ~mask
    os.chmod(temporary, mode)
