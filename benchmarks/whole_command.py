"""Whole commands on the hill-climb V8 demo, each in a new process.

Limits (2 cores): `--help` under 0.4 s; `judge` warm, with spreads, 3 s; first ever run with compilation 20 s.
Warm = new process, compile cache full, no result cache (there is none).  Each warm figure is the
median of five.  Run on a quiet machine: other work on the cores shows in the result.  The limits are
wall times of no stated machine, so the time of a plain Python loop stands beside them.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from record import record

ROOT = Path(__file__).parents[1]
BUILD = str(ROOT / "examples" / "hillclimb_v8.toml")


def seconds(arguments: list[str], cache: str | None = None) -> float:
    """Wall time of one command [s]."""
    environment = dict(os.environ)
    # A user's Python keeps its byte code between starts; some build machines forbid it.
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    if cache is not None:
        environment["BLOCKWRIGHT_CACHE"] = cache
    start = time.perf_counter()
    subprocess.run(
        [sys.executable, "-m", "blockwright", *arguments], check=True, capture_output=True, env=environment
    )
    return time.perf_counter() - start


def yardstick() -> float:
    """Time of ten million turns of a plain Python loop [s]: how fast this machine is just now."""
    start = time.perf_counter()
    total = 0
    for turn in range(10_000_000):
        total += turn
    return time.perf_counter() - start


def main() -> None:
    """Measure, print and record."""
    before = yardstick()
    with tempfile.TemporaryDirectory() as empty:
        first = seconds(["judge", BUILD], cache=empty)
    seconds(["judge", BUILD])
    warm = statistics.median(seconds(["judge", BUILD]) for _ in range(5))
    brief = statistics.median(seconds(["--help"]) for _ in range(5))
    pace = 0.5 * (before + yardstick())
    record("pace of the machine,", f"ten million turns of a plain Python loop: {pace:.2f} s")
    limits = {"--help": (brief, 0.4), "judge, warm": (warm, 3.0), "judge, first ever": (first, 20.0)}
    for name, (found, limit) in limits.items():
        verdict = "kept" if found <= limit else "MISSED"
        against = f"{found / limit:.2f} of it; {found / pace:.2f} of the loop"
        record(name, f"{found:.2f} s, limit {limit:g} s: {verdict} ({against})")


if __name__ == "__main__":
    main()
