"""A ledger's tables and answers as CSV and Parquet files, and as text on the terminal."""

import csv
import io
import tempfile
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.table import Table
from rich.text import Text

from pipeline.errors import LedgerError
from pipeline.ledger.database import all_of, quoted, read, rows
from pipeline.ledger.schema import NAMES, Answer
from pipeline.publish.table import harmless
from pipeline.record import write_atomically
from pipeline.wording import plain

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection


def shown(ledger: "DuckDBPyConnection", answer: Answer, most: int = 10) -> Table:
    """An answer's first rows as a text table."""
    found = rows(ledger, answer.name)
    table = Table(box=None, pad_edge=False, header_style="bold")
    table.title, table.title_justify = answer.title, "left"
    if not found:
        table.add_column("nothing yet")
    for name, value in found[0].items() if found else ():
        table.add_column(name, justify="right" if isinstance(value, int | float) else "left")
    for row in found[:most]:
        table.add_row(*(Text("-" if v is None else plain(str(v))) for v in row.values()))
    if len(found) > most:
        table.caption = f"and {len(found) - most} rows more"
    return table


def export_csv(ledger: "DuckDBPyConnection", folder: Path) -> list[Path]:
    """Writes every table and answer as a CSV file (RFC 4180) that runs nothing in a spreadsheet.

    Raises LedgerError where the folder cannot be made, RecordError where a file cannot be written.
    """
    return [
        _exported(folder / f"{name}.csv", _csv(*read(ledger, name)).encode("utf-8-sig"))
        for name in NAMES
    ]


def export_parquet(ledger: "DuckDBPyConnection", folder: Path) -> list[Path]:
    """Writes every table and answer as a Parquet file.

    Raises LedgerError where the folder cannot be made, RecordError where a file cannot be written.
    """
    with tempfile.TemporaryDirectory() as scratch:
        draft = Path(scratch) / "draft.parquet"
        written: list[Path] = []
        for name in NAMES:
            ledger.execute(f"COPY ({all_of(name)}) TO {quoted(draft)} (FORMAT parquet)")
            written.append(_exported(folder / f"{name}.parquet", draft.read_bytes()))
    return written


def _csv(columns: Sequence[str], found: Iterable[Sequence[Any]]) -> str:
    file = io.StringIO()
    writer = csv.writer(file, lineterminator="\r\n")
    writer.writerow(columns)
    for row in found:
        writer.writerow(harmless(plain(v)) if isinstance(v, str) else v for v in row)
    return file.getvalue()


def _exported(path: Path, content: bytes) -> Path:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise LedgerError(f"{path.parent}: cannot be made: {error.strerror}") from error
    write_atomically(path, content)
    return path
