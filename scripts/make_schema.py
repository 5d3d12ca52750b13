"""Writes the JSON Schema of the findings file, which tests compare with the models.

python scripts/make_schema.py
"""

import json
from pathlib import Path

from pipeline.record import json_schema

SCHEMA_FILE = Path(__file__).resolve().parent.parent / "pipeline" / "findings.schema.json"

if __name__ == "__main__":
    SCHEMA_FILE.write_text(json.dumps(json_schema(), indent=2) + "\n", encoding="utf-8")
