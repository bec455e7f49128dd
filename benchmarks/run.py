"""All benchmarks, one after the other."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent

for script in ("cylinder_vs_cantera.py", "ducts_vs_pyclaw.py", "engine_points.py", "whole_command.py"):
    print(f"{script}:")
    subprocess.run([sys.executable, str(HERE / script)], check=True, cwd=HERE)
