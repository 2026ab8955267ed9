"""Run one command: python -m estimator.cli."""

import sys

from estimator.cli.program import main

sys.exit(main())
