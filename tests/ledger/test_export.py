"""pipeline/ledger/export.py and the command `ledger`."""

import csv
import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from pipeline.cli import main
from pipeline.errors import LedgerError
from pipeline.ledger.database import add_folders, findings_folders, open_ledger, rows
from pipeline.ledger.export import export_csv, export_parquet
from pipeline.ledger.schema import ANSWERS, NAMES
from tests.ledger.records import decided, findings_folder
from tests.review.records import finding

duckdb = pytest.importorskip("duckdb", reason="needs the extra 'ledger'")


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """Two recordings; a phrase in one looks like a formula."""
    formula = finding(1, "fuel_tank", "scratch", 1, heard='=HYPERLINK("x")', read_as="é, ö")
    findings_folder(tmp_path / "yard/ana/a.walkaround", 1, findings=[formula])
    decided(findings_folder(tmp_path / "yard/ben/b.walkaround", 2), "Cay", 0, 20)
    return tmp_path / "yard"


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["ledger", *(str(argument) for argument in arguments)])


def test_csv_and_parquet_hold_the_same_rows(tmp_path: Path, yard: Path) -> None:
    with open_ledger(tmp_path / "l.duckdb") as ledger:
        add_folders(ledger, findings_folders([yard]))
        tables = export_csv(ledger, tmp_path / "csv")
        columns = export_parquet(ledger, tmp_path / "parquet")
        assert [path.stem for path in tables] == [path.stem for path in columns] == list(NAMES)
        for table, column in zip(tables, columns, strict=True):
            expected = rows(ledger, table.stem)
            found = duckdb.sql(f"FROM '{column}'")
            assert [dict(zip(found.columns, row, strict=True)) for row in found.fetchall()] == (
                expected
            )
            with table.open(encoding="utf-8-sig", newline="") as file:
                assert len(list(csv.DictReader(file))) == len(expected)


def test_no_cell_is_a_formula(tmp_path: Path, yard: Path) -> None:
    with open_ledger(tmp_path / "l.duckdb") as ledger:
        add_folders(ledger, findings_folders([yard]))
        export_csv(ledger, tmp_path)
    with (tmp_path / "findings.csv").open(encoding="utf-8-sig", newline="") as file:
        said = {row["heard"]: row["read_as"] for row in csv.DictReader(file)}
    assert said['\'=HYPERLINK("x")'] == "é, ö"


def test_a_folder_that_cannot_be_made(tmp_path: Path, yard: Path) -> None:
    (tmp_path / "file").touch()
    with open_ledger(tmp_path / "l.duckdb") as ledger:
        add_folders(ledger, findings_folders([yard]))
        with pytest.raises(LedgerError, match="cannot be made"):
            export_csv(ledger, tmp_path / "file" / "csv")


def test_the_command_adds_and_answers(tmp_path: Path, yard: Path) -> None:
    ledger = tmp_path / "l.duckdb"
    first = run(yard, "--out", ledger, "--csv", tmp_path / "csv", "--parquet", tmp_path / "pq")
    assert first.exit_code == 0
    assert "2 added, 0 unchanged" in first.output
    for answer in ANSWERS:
        assert answer.title in first.output
    assert (tmp_path / "csv" / "review_time.csv").exists()
    assert (tmp_path / "pq" / "review_time.parquet").exists()
    again = run(yard, "--out", ledger, "--json")
    assert "0 added, 2 unchanged" in again.stderr
    answers = json.loads(again.stdout)
    assert answers == json.loads(run("--out", ledger, "--json").stdout)
    assert answers["review_time"][0]["person"] == "Cay"


def test_what_is_not_readable_is_named_and_the_rest_added(tmp_path: Path, yard: Path) -> None:
    (yard / "ana/a.walkaround/findings.json").write_text("{")
    result = run(yard, "--out", tmp_path / "l.duckdb")
    assert result.exit_code == 1
    assert "1 added" in result.output
    assert "is not JSON" in result.output


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([], "there is no ledger yet"),
        (["gone"], "gone: there is no such folder"),
        (["."], "there are no findings"),
    ],
)
def test_what_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: list[str], said: str
) -> None:
    monkeypatch.chdir(tmp_path)
    result = run(*arguments)
    assert result.exit_code != 0
    assert said in result.output
    assert list(tmp_path.iterdir()) == []


def test_help_ends_with_an_example() -> None:
    assert "wearword ledger records/" in run("--help").output
