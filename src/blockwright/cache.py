"""Where compiled kernels are kept between runs.

Numba looks only at the file of a compiled function, not at the functions it calls in
other files: after an edit in one of those it would go on using the old machine code.
So the cache folder is named by everything that decides the machine code: the text of
all kernel modules, the versions of Numba and NumPy, and the processor.
"""

from __future__ import annotations

import hashlib
import os
import platform
import shutil
import sys
from importlib.util import find_spec
from pathlib import Path

#: How many folders of older code are kept beside the current one.
KEEP = 3


def user_cache() -> Path:
    """Folder for all that can be computed again; ``BLOCKWRIGHT_CACHE`` overrides it."""
    given = os.environ.get("BLOCKWRIGHT_CACHE")
    if given:
        return Path(given).expanduser()
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA")
        return (Path(base) if base else Path.home() / "AppData" / "Local") / "blockwright" / "cache"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches" / "blockwright"
    base = os.environ.get("XDG_CACHE_HOME")
    return (Path(base) if base else Path.home() / ".cache") / "blockwright"


def _processor() -> str:
    """Name of the processor as far as the system tells it cheaply."""
    try:
        with open("/proc/cpuinfo", encoding="ascii", errors="replace") as lines:
            head = lines.read(4096).splitlines()
        told = [s for s in head if s.startswith(("model name", "flags", "CPU part", "Features"))]
        if told:
            return "|".join(told)
    except OSError:
        pass
    return platform.processor() or platform.machine()


def kernel_sources(root: Path | None = None) -> dict[Path, bytes]:
    """Text of every module that holds compiled functions, in a fixed order.

    Those in a folder ``kernels`` (they import the decorator from one another), any that speaks of
    Numba, and any that takes the decorator from ``compiled`` or ``kernels.jit``.
    """
    package = root or Path(__file__).parent
    words = (b"numba", b"compiled import", b"jit import")
    found: dict[Path, bytes] = {}
    for path in sorted(package.rglob("*.py")):
        text = path.read_bytes()
        if path.parent.name == "kernels" or any(word in text for word in words):
            found[path] = text
    return found


def _version_text(package: str, file: str) -> bytes:
    """The file of an installed package that states its version, without importing the package."""
    spec = find_spec(package)
    if spec is None or spec.origin is None:
        return b""
    path = Path(spec.origin).with_name(file)
    if path.is_file():
        return path.read_bytes()
    from importlib import metadata

    return metadata.version(package).encode()


def compile_key(root: Path | None = None) -> str:
    """Hash of all that decides the machine code of the kernels."""
    text = hashlib.sha256()
    for path, source in kernel_sources(root).items():
        text.update(path.name.encode())
        text.update(source)
    for part in (platform.machine(), _processor()):
        text.update(part.encode())
    text.update(_version_text("numba", "_version.py") + _version_text("numpy", "version.py"))
    return text.hexdigest()[:20]


def _drop_old(folder: Path) -> None:
    """Remove all but the newest few sibling folders of compiled code."""
    try:
        siblings = [p for p in folder.parent.iterdir() if p.is_dir() and p != folder]
        siblings.sort(key=lambda p: p.stat().st_mtime, reverse=True)
        for old in siblings[KEEP:]:
            shutil.rmtree(old, ignore_errors=True)
    except OSError:
        pass  # another process may be tidying the same folder


def prepare_compile_cache() -> Path | None:
    """Point Numba at the folder of compiled kernels; call before importing numba.

    Returns
    -------
    Path or None
        The folder, or None when the user set ``NUMBA_CACHE_DIR`` or the folder cannot be written
        (Numba then falls back on its own rules).
    """
    current = os.environ.get("NUMBA_CACHE_DIR")
    if current is not None and current != os.environ.get("_BLOCKWRIGHT_NUMBA"):
        return None
    if current is not None:
        return Path(current)
    folder = user_cache() / "compiled" / compile_key()
    try:
        new = not folder.exists()
        folder.mkdir(parents=True, exist_ok=True)
        if new:
            _drop_old(folder)
        else:
            os.utime(folder)
    except OSError:
        return None
    os.environ["NUMBA_CACHE_DIR"] = str(folder)
    os.environ["_BLOCKWRIGHT_NUMBA"] = str(folder)
    if "numba" in sys.modules:  # imported by someone else first: its setting was read already
        sys.modules["numba"].config.CACHE_DIR = str(folder)
    return folder
