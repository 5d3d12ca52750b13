"""The same captions give the same bytes; the published schema is one that others can use."""

import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path

import jsonschema  # type: ignore[import-untyped]
import pytest
from make_schema import SCHEMA_FILE

from pipeline.models import Record
from pipeline.record import json_schema, record_from_json, record_to_json
from pipeline.walkaround import Options, log_recording, log_transcript
from tests.publish.conftest import nasty_record

ROOT = Path(__file__).resolve().parents[2]
CAPTIONS = ROOT / "samples" / "pellam.vtt"

_MADE = """
import hashlib, sys
from pathlib import Path
from pipeline.record import record_to_json
from pipeline.walkaround import Options, log_transcript
for path in sys.argv[1:]:
    print(hashlib.sha256(record_to_json(log_transcript(Path(path), None, Options()).record)).hexdigest())
"""


def made_with(seed: str, *captions: Path) -> list[str]:
    """Digests of the findings of some captions, made in a process that orders its sets by a seed."""
    done = subprocess.run(
        [sys.executable, "-c", _MADE, *map(str, captions)],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
        env={**os.environ, "PYTHONHASHSEED": seed},
    )
    return done.stdout.split()


def test_findings_are_the_same_whatever_the_order_of_sets() -> None:
    captions = [CAPTIONS, *sorted((ROOT / "tests" / "captions").glob("g01.*t"))]
    first = made_with("1", *captions)
    assert len(first) == len(captions) == 2
    assert made_with("77", *captions) == first


def test_findings_are_the_same_twice_in_one_process() -> None:
    made = [record_to_json(log_transcript(CAPTIONS, None, Options()).record) for _ in range(2)]
    assert made[0] == made[1]
    assert hashlib.sha256(made[0]).hexdigest() == made_with("0", CAPTIONS)[0]


@pytest.fixture(scope="module")
def schema() -> jsonschema.Draft202012Validator:
    published = json.loads(SCHEMA_FILE.read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(published)
    return jsonschema.Draft202012Validator(published)


def test_the_published_schema_is_that_of_the_models() -> None:
    published = json.loads(SCHEMA_FILE.read_text(encoding="utf-8"))
    assert published == json_schema(), "run: python scripts/make_schema.py"


def test_a_recording_gives_the_same_findings_on_one_thread_and_on_two(
    few_words: Path, schema: jsonschema.Draft202012Validator
) -> None:
    one, two = (
        record_to_json(log_recording(few_words, Options().on_threads(threads)).record)
        for threads in (1, 2)
    )
    assert one == two
    schema.validate(json.loads(one))


def test_records_are_accepted_by_an_independent_validator(
    schema: jsonschema.Draft202012Validator,
) -> None:
    for record in (log_transcript(CAPTIONS, None, Options()).record, nasty_record()):
        schema.validate(record.to_json())


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("schema",), "wearword/findings/2"),
        (("source", "duration_s"), "long"),
        (("findings", 0, "severity"), 6),
        (("findings", 0, "side"), "up"),
        (("findings", 0, "confidence"), 1.5),
        (("vehicle", "kind"), "boat"),
        (("lines", 0, "status"), "sung"),
    ],
    ids=str,
)
def test_what_breaks_a_rule_is_refused(
    path: tuple[str | int, ...], value: object, schema: jsonschema.Draft202012Validator
) -> None:
    data = nasty_record().to_json()
    inner = data
    for step in path[:-1]:
        inner = inner[step]  # type: ignore[index]
    inner[path[-1]] = value  # type: ignore[index]
    assert not schema.is_valid(data)


def test_unknown_fields_survive(schema: jsonschema.Draft202012Validator) -> None:
    data = nasty_record().to_json()
    data["weather"] = "dry"
    data["findings"][0]["weight_g"] = {"a": [1, None]}
    again = record_from_json(record_to_json(Record.model_validate(data)), "again").to_json()
    assert again == data
    schema.validate(again)
