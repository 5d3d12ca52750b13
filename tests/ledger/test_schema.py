"""pipeline/ledger/schema.py: the answers are right, and every column is described."""

import re
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from lexicon.load import load_lexicon
from pipeline.ledger import schema
from pipeline.ledger.database import add_folders, findings_folders, open_ledger, rows
from tests.ledger.records import decided, findings_folder, source
from tests.review.records import NOON, finding

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

pytest.importorskip("duckdb", reason="needs the extra 'ledger'")

MONDAY = datetime.fromisoformat("2031-05-05T23:30:00-07:00")  # Tuesday in UTC


@pytest.fixture
def ledger(tmp_path: Path) -> Iterator["DuckDBPyConnection"]:
    """Two recordings by Ana, one by Ben; Cay reviews two of them, Dee one."""
    checklist = load_lexicon("motorcycle").kind_entry.checklist
    a = findings_folder(tmp_path / "ana/a", 1, source=source(1, recorded_at=MONDAY))
    b = findings_folder(
        tmp_path / "ana/b", 2, source=source(2, recorded_at=MONDAY), lines=[],
        findings=[finding(1, "fuel_tank", "scratch", 1, severity=1),
                  finding(2, "fuel_tank", "scratch", 2, status="struck")],
        unmentioned=[],
    )  # fmt: skip
    c = findings_folder(tmp_path / "ben/c", 3, unmentioned=checklist)
    decided(a, "Cay", 0, 20, 50)
    decided(b, "Cay", 60, 1000)  # the first after 10 s in another recording, then a long break
    decided(c, "Dee", 0, 0, 7, start=NOON + timedelta(days=1))
    with open_ledger(tmp_path / "l.duckdb") as opened:
        add_folders(opened, findings_folders([tmp_path]))
        yield opened


def test_open_flags_by_person_and_day(ledger: "DuckDBPyConnection") -> None:
    """The record by hand has four open questions with a flag each, two findings and two lines."""
    assert rows(ledger, "open_flags_by_person_and_day") == [
        {"person": "ana", "day": date(2031, 5, 5), "to_settle": 4, "flags": 4, "recordings": 2},
        {"person": "ben", "day": None, "to_settle": 4, "flags": 4, "recordings": 1},
    ]


def test_flaws_by_part(ledger: "DuckDBPyConnection") -> None:
    first, *others = rows(ledger, "flaws_by_part")
    assert first == {"area": "body", "part": "fuel_tank", "defect": "scratch", "times": 3,
                     "recordings": 3, "mean_grade": 2.33}  # fmt: skip
    assert {(row["part"], row["times"]) for row in others} == {("saddlebag", 2), ("brake_rotor", 2)}


def test_skipped_areas(ledger: "DuckDBPyConnection") -> None:
    found = rows(ledger, "skipped_areas")
    parts = load_lexicon("motorcycle").parts
    assert {row["area"] for row in found} == {
        parts[part].area for part in load_lexicon("motorcycle").kind_entry.checklist
    }
    shares = [row["share_skipped"] for row in found]
    assert shares == sorted(shares, reverse=True)
    assert all(row["recordings_without_area"] >= 1 for row in found)  # the one with nothing said
    assert sum(row["parts"] for row in found) == len(rows(ledger, "checklist"))


def test_review_time(ledger: "DuckDBPyConnection") -> None:
    assert rows(ledger, "review_time") == [
        {"person": "Dee", "day": date(2031, 5, 5), "recordings": 1, "decisions": 3,
         "review_s": 7.0, "median_s": 3.5, "untimed": 1},
        {"person": "Cay", "day": date(2031, 5, 4), "recordings": 2, "decisions": 5,
         "review_s": 60.0, "median_s": 20.0, "untimed": 2},
    ]  # fmt: skip


def test_plain_sql_works(ledger: "DuckDBPyConnection") -> None:
    asked = """
        SELECT person, count(*) FROM records JOIN findings USING (recording)
        WHERE status = 'flagged' AND confidence < 0.7 GROUP BY person ORDER BY person"""
    assert ledger.execute(asked).fetchall() == [("ana", 2), ("ben", 2)]


def test_every_table_and_column_is_described() -> None:
    text = schema.__doc__ or ""
    for name, columns in schema.TABLES.items():
        described = text[text.index(f"    {name} ") :]
        for column in re.findall(r"(\w+) [A-Z]+,?", columns):
            assert column == "recording" or re.search(rf"\b{column}\b", described), (name, column)
