"""The scripts are no package: their folder goes on the path for these tests alone."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "scripts"))
