"""Where benchmarks write what they measured."""

from __future__ import annotations

from pathlib import Path

RESULTS = Path(__file__).parent / "results.md"


def record(name: str, text: str) -> None:
    """Print one result and put it into results.md in place of its last one."""
    line = f"- **{name}** {text}"
    print(line)
    lines = RESULTS.read_text(encoding="utf-8").splitlines() if RESULTS.exists() else ["# Measured", ""]
    kept = [old for old in lines if not old.startswith(f"- **{name}** ")]
    RESULTS.write_text("\n".join([*kept, line]) + "\n", encoding="utf-8")
