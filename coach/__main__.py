"""Start the program with ``python -m coach``."""

from coach.bootstrap import main

raise SystemExit(main())
