"""The folder of compiled code follows what decides it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from blockwright import cache


def test_key_moves_with_a_callee_in_another_file(tmp_path):
    folder = tmp_path / "gas" / "kernels"
    folder.mkdir(parents=True)
    (folder / "a.py").write_text("x = 1\n")
    (folder / "b.py").write_text("y = 1\n")
    before = cache.compile_key(tmp_path)
    assert cache.compile_key(tmp_path) == before
    (folder / "b.py").write_text("y = 2\n")
    assert cache.compile_key(tmp_path) != before


def test_every_compiled_function_is_in_a_hashed_file():
    package = Path(cache.__file__).parent
    hashed = set(cache.kernel_sources())
    for path in package.rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        if "import njit" in text or "numba import" in text or "@kernel" in text:
            assert path in hashed, f"{path} compiles functions but does not count in the cache key"


def test_old_folders_go(tmp_path, monkeypatch):
    monkeypatch.setenv("BLOCKWRIGHT_CACHE", str(tmp_path))
    monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)
    monkeypatch.delenv("_BLOCKWRIGHT_NUMBA", raising=False)
    for k in range(8):
        old = tmp_path / "compiled" / f"old{k}"
        old.mkdir(parents=True)
        os.utime(old, (k, k))
    import numba

    kept = numba.config.CACHE_DIR
    try:
        folder = cache.prepare_compile_cache()
    finally:
        numba.config.CACHE_DIR = kept
    assert folder is not None
    assert folder.is_dir()
    left = {p.name for p in (tmp_path / "compiled").iterdir()}
    assert left == {folder.name, "old7", "old6", "old5"}


def test_a_folder_set_by_the_user_is_left_alone(monkeypatch):
    monkeypatch.setenv("NUMBA_CACHE_DIR", "/somewhere")
    monkeypatch.delenv("_BLOCKWRIGHT_NUMBA", raising=False)
    assert cache.prepare_compile_cache() is None
    assert os.environ["NUMBA_CACHE_DIR"] == "/somewhere"


def test_an_unwritable_folder_does_not_stop_the_program(tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    code = "from blockwright.cache import prepare_compile_cache; print(prepare_compile_cache())"
    clean = {k: v for k, v in os.environ.items() if k not in ("NUMBA_CACHE_DIR", "_BLOCKWRIGHT_NUMBA")}
    env = clean | {"BLOCKWRIGHT_CACHE": str(blocked)}
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env=env)
    assert told.stdout.strip() == "None"
