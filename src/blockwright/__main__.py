"""`python -m blockwright`."""

from .cli import main

raise SystemExit(main())
