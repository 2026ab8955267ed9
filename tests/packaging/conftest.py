"""The start commands' own code is imported as they import it, behind everything else."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.append(str(Path(__file__).resolve().parents[2] / "packaging"))
