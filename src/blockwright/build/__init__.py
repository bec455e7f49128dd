"""The build: what is measured and wanted, read from its file to SI with provenance."""

from __future__ import annotations

from .load import load, loads
from .model import Assumption, Build, Value, Walls
from .write import save

__all__ = ["Assumption", "Build", "Value", "Walls", "load", "loads", "save"]
