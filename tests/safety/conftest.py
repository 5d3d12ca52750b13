"""The fuzz script's inputs and its way of trying them serve these tests too."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "scripts"))
