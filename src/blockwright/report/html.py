"""A page as one HTML file that needs nothing else: style, script and face are in it; written whole or not."""

from __future__ import annotations

import base64
import functools
import hashlib
import os
import tempfile
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from markupsafe import Markup

from ..errors import Fault, InputError
from . import words

if TYPE_CHECKING:
    from jinja2 import Environment

_HERE = "blockwright.report"


def fill(template: str, **given: object) -> str:
    """A template with what it is given, the house style and the one script.

    Returns
    -------
    str
        HTML5 with style, script, face and pictures inside; no address outside it is used.
    """
    style, script = _read("templates/style.css"), _read("templates/script.js")
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    return (
        _environment()
        .get_template(template)
        .render(
            style=Markup(style.replace("@FACE@", _face())),
            script=Markup(script),
            script_hash=digest,
            w=words,
            **given,
        )
    )


def _read(name: str) -> str:
    return resources.files(_HERE).joinpath(name).read_text(encoding="utf-8")


@functools.cache
def _face() -> str:
    """The page's typeface as a data address."""
    data = resources.files(_HERE).joinpath("assets/archivo-latin-wdth-normal.woff2").read_bytes()
    return "data:font/woff2;base64," + base64.b64encode(data).decode()


@functools.cache
def _environment() -> Environment:
    """Jinja with escaping on, undefined names refused, and unprintable characters taken out."""
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    return Environment(
        loader=FunctionLoader(lambda name: _read(f"templates/{name}")),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=lambda x: words.clean(x) if isinstance(x, str) and not isinstance(x, Markup) else x,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def write(path: str | os.PathLike[str], html: str) -> None:
    """Write the page whole or not at all.

    Raises
    ------
    InputError
        The folder does not exist or cannot be written; nothing is left behind.
    """
    target = Path(path)
    folder = target.parent
    if not folder.is_dir():
        raise InputError(
            Fault("--report", str(target), f"the folder {folder} does not exist; make it or name another")
        )
    if target.is_dir():
        raise InputError(
            Fault("--report", str(target), "this is a folder; name a file, for instance report.html")
        )
    temporary = ""
    try:
        with tempfile.NamedTemporaryFile(
            "w", encoding="utf-8", dir=folder, prefix=".report-", suffix=".part", delete=False
        ) as part:
            temporary = part.name
            part.write(html)
        # A temporary file is private to its maker; a report has the rights of any new file.
        mask = os.umask(0)
        os.umask(mask)
        os.chmod(temporary, 0o666 & ~mask)
        os.replace(temporary, target)
    except OSError as wrong:
        if temporary:
            Path(temporary).unlink(missing_ok=True)
        why = wrong.strerror or str(wrong)
        raise InputError(
            Fault("--report", str(target), f"it could not be written ({why}); name another place")
        ) from wrong
