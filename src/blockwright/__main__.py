"""`python -m blockwright`."""

from .cli import run

run()
