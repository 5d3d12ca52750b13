import csv
import io
from collections.abc import Callable
from pathlib import Path

import duckdb
import pytest

from pipeline.models import Record
from pipeline.publish.handover import Handover
from pipeline.publish.table import harmless, table

HandoverOf = Callable[..., Handover]


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True))


def test_one_row_per_flaw(record: Record, handover_of: HandoverOf) -> None:
    text = table(handover_of(record))
    found = rows(text)
    assert text.startswith("\ufeffid,area,")
    assert text.endswith("\r\n")
    assert [row["id"] for row in found] == ["F001", "F002", "F003", "F004", "F005", "F008"]
    assert found[0] | {"link": "", "sentence": ""} == {
        "id": "F001",
        "area": "Seating and luggage",
        "side": "left",
        "position": "",
        "part": "saddlebag",
        "detail": "near the seam",
        "flaw": "scuff",
        "grade": "4",
        "grade_word": "considerable",
        "grade_basis": "spoken",
        "count": "3",
        "size_in": "2",
        "area_pct": "",
        "at": "0:06",
        "phrase_start_s": "8.4",
        "phrase_end_s": "11.25",
        "sentence": "",
        "heard": "a scratch",
        "read_as": "a scratch",
        "review": "not asked for",
        "caution": "",
        "link": "",
    }
    assert found[4]["grade_word"] == "not graded"


def test_each_row_tells_how_it_was_reviewed(record: Record, handover_of: HandoverOf) -> None:
    found = rows(table(handover_of(record, include_unconfirmed=True)))
    assert {row["id"]: row["review"] for row in found} == {
        "F001": "not asked for",
        "F002": "not asked for",
        "F003": "confirmed",
        "F004": "amended",
        "F005": "not asked for",
        "F006": "still open",
        "F008": "not asked for",
    }


@pytest.mark.published
def test_an_independent_reader_sees_the_same_rows(
    tmp_path: Path, record: Record, handover_of: HandoverOf
) -> None:
    # RFC 4180, as DuckDB reads it.
    path = tmp_path / "flaws.csv"
    path.write_bytes(table(handover_of(record)).encode())
    read = duckdb.read_csv(str(path), header=True, all_varchar=True, delimiter=",", quotechar='"')
    seen = [tuple(cell or "" for cell in row) for row in read.fetchall()]
    expected = rows(path.read_bytes().decode())
    assert read.columns == list(expected[0])
    assert seen == [tuple(row.values()) for row in expected]


def test_sizes_are_in_the_readers_units(record: Record, handover_of: HandoverOf) -> None:
    assert rows(table(handover_of(record, units="mm")))[0]["size_mm"] == "50.8"


def test_no_cell_starts_a_formula(record: Record, handover_of: HandoverOf) -> None:
    for finding in record.findings:
        finding.heard = "=1+1"
        finding.detail = " @SUM(A1)"
        finding.caution = "\t-2+3"
    for row in rows(table(handover_of(record))):
        assert not [cell for cell in row.values() if cell.lstrip().startswith(tuple("=+-@"))]


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("=1+1", "'=1+1"),
        ("+1", "'+1"),
        ("-1", "'-1"),
        ("@x", "'@x"),
        ("  =x", "'  =x"),
        ("\uff1dx", "'\uff1dx"),
        ("plain - text", "plain - text"),
        ("", ""),
    ],
)
def test_formulas_are_defused(text: str, cell: str) -> None:
    assert harmless(text) == cell
