"""The database: opened, brought up to folders of findings, read.

Where several folders hold findings of one recording, those with the most decisions of a reviewer
count, of equals the ones written last. So adding the same folders again, in any order, gives the
same ledger.
"""

import json
import tempfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pipeline.errors import LedgerError, WearwordError
from pipeline.ledger.pages import Held, Page, content_of, page_of
from pipeline.ledger.schema import ANSWERS, SCHEMA, TABLES
from pipeline.record import FILE_NAME

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

Progress = Callable[[float], None]
"""Called with the share done so far, 0 to 1."""

_AT_ONCE = 500  # folders whose rows are held in memory together


@dataclass(frozen=True)
class Added:
    """What became of the folders: how many were new or had changed, and what could not be read.

    `unchanged` counts those that the ledger had as they are, `set_aside` those whose recording
    stands in it with findings that count more.
    """

    written: int = 0
    unchanged: int = 0
    set_aside: int = 0
    failed: tuple[str, ...] = ()

    def __add__(self, other: "Added") -> "Added":
        return Added(
            self.written + other.written,
            self.unchanged + other.unchanged,
            self.set_aside + other.set_aside,
            self.failed + other.failed,
        )


@contextmanager
def open_ledger(path: Path) -> "Iterator[DuckDBPyConnection]":
    """Opens a ledger, which is made if there is none yet.

    Raises LedgerError where the extra is missing, or the file is no ledger or used by another.
    """
    try:
        import duckdb  # noqa: PLC0415 (an extra)
    except ImportError as error:
        raise LedgerError("the ledger needs DuckDB; run: pip install 'wearword[ledger]'") from error
    try:
        # Nothing is ever fetched from the network: all that is used here is built in.
        connection = duckdb.connect(str(path), config={"autoinstall_known_extensions": "false"})
    except duckdb.Error as error:
        raise LedgerError(
            f"{path}: cannot be opened: it is no ledger, or another program has it open"
        ) from error
    with closing(connection):
        try:
            _prepare(connection, path)
            yield connection
        except duckdb.Error as error:
            raise LedgerError(f"{path}: {str(error).splitlines()[0]}") from error


def add_folders(
    ledger: "DuckDBPyConnection", folders: Sequence[Path], progress: Progress | None = None
) -> Added:
    """Brings the ledger up to findings folders, all at once or not at all.

    A folder that the ledger has as it is costs little. Findings that cannot be read are named, and
    stop nothing. Raises LedgerError where the file cannot be written.
    """
    contents = {str(folder): content_of(folder) for folder in folders}
    had = dict(ledger.execute("SELECT folder, content FROM records").fetchall())
    changed = [folder for folder in folders if had.get(str(folder)) != contents[str(folder)]]
    ledger.begin()
    try:
        # A folder's old rows go first, whatever recording they are of.
        _delete(ledger, "folder", [str(folder) for folder in changed])
        added = Added(unchanged=len(folders) - len(changed))
        for start in range(0, len(changed), _AT_ONCE):
            some = changed[start : start + _AT_ONCE]
            added += _add(ledger, some, contents)
            if progress is not None:
                progress((start + len(some)) / len(changed))
        ledger.commit()
    except BaseException:
        ledger.rollback()
        raise
    return added


def findings_folders(sources: Iterable[Path]) -> list[Path]:
    """Every folder with a findings file, in the folders given and below them, absolute and sorted.

    Raises LedgerError where a source is no folder, or where there is none.
    """
    found: set[Path] = set()
    for source in sources:
        if not source.is_dir():
            raise LedgerError(f"{source}: there is no such folder")
        found.update(path.parent.resolve() for path in source.rglob(FILE_NAME))
    if not found:
        raise LedgerError("there are no findings in these folders; make some with log or batch")
    return sorted(found)


def rows(ledger: "DuckDBPyConnection", name: str) -> list[dict[str, Any]]:
    """The rows of a table or of an answer's view, by column name, in a fixed order."""
    columns, found = read(ledger, name)
    return [dict(zip(columns, row, strict=True)) for row in found]


def _prepare(ledger: "DuckDBPyConnection", path: Path) -> None:
    """Makes the tables of a new ledger, and the views of this version of the program."""
    found = ledger.execute("SELECT table_name FROM duckdb_tables()").fetchall()
    names = {name for (name,) in found}
    if names and "about" not in names:
        raise LedgerError(f"{path}: is a database, but no ledger; name another file with --out")
    ledger.begin()
    if names:
        (schema,) = ledger.execute("SELECT schema FROM about").fetchone() or ("unknown",)
        if schema != SCHEMA:
            raise LedgerError(f"{path}: is a ledger of another version; delete it and add again")
    else:
        ledger.execute("CREATE TABLE about (schema VARCHAR)")
        ledger.execute("INSERT INTO about VALUES (?)", [SCHEMA])
        for name, columns in TABLES.items():
            ledger.execute(f"CREATE TABLE {name} ({columns})")
    for answer in ANSWERS:
        ledger.execute(f"CREATE OR REPLACE VIEW {answer.name} AS {answer.sql}")
    ledger.commit()


def read(ledger: "DuckDBPyConnection", name: str) -> tuple[list[str], list[tuple[Any, ...]]]:
    """Column names and rows."""
    found = ledger.execute(all_of(name))
    return [column[0] for column in found.description or ()], found.fetchall()


def all_of(name: str) -> str:
    """A table's rows need an order; a view has its own."""
    return f"SELECT * FROM {name}" + (" ORDER BY ALL" if name in TABLES else "")


def _delete(ledger: "DuckDBPyConnection", column: str, values: Sequence[str]) -> None:
    """Takes recordings out of all tables, by a column of `records`."""
    ledger.execute(
        f"CREATE OR REPLACE TEMP TABLE gone AS SELECT recording FROM records "
        f"WHERE {column} IN (SELECT unnest(?::VARCHAR[]))",
        [list(values)],
    )
    for name in TABLES:
        ledger.execute(f"DELETE FROM {name} WHERE recording IN (FROM gone)")


def _add(ledger: "DuckDBPyConnection", folders: Sequence[Path], contents: dict[str, str]) -> Added:
    """Reads folders and puts in each recording's page, if none that counts more is there."""
    failed: list[str] = []
    pages: list[Page] = []
    for folder in folders:
        try:
            pages.append(page_of(folder, contents[str(folder)]))
        except WearwordError as error:
            failed.append(str(error))
    best = {page.recording: page for page in sorted(pages, key=lambda page: page.held)}
    held = {
        recording: Held(*values)
        for recording, *values in ledger.execute(
            "SELECT recording, decisions, written_at, folder FROM records "
            "WHERE recording IN (SELECT unnest(?::VARCHAR[]))",
            [list(best)],
        ).fetchall()
    }
    new = [p for p in best.values() if p.recording not in held or p.held > held[p.recording]]
    _delete(ledger, "recording", [page.recording for page in new])
    try:
        with tempfile.TemporaryDirectory() as scratch:
            for name in TABLES:
                lines = [_json_line(row) for page in new for row in page.rows[name]]
                if lines:
                    draft = Path(scratch) / f"{name}.json"
                    draft.write_bytes(b"".join(lines))
                    ledger.execute(f"COPY {name} FROM {quoted(draft)} (FORMAT json)")
    except OSError as error:
        raise LedgerError(f"{tempfile.gettempdir()}: cannot be written: {error}") from error
    return Added(written=len(new), set_aside=len(pages) - len(new), failed=tuple(failed))


def _json_line(row: dict[str, Any]) -> bytes:
    """One row; what the database cannot hold (NUL, half a character) does not get there."""
    row = {key: v.replace("\0", "") if isinstance(v, str) else v for key, v in row.items()}
    return json.dumps(row, ensure_ascii=False).encode("utf-8", "replace") + b"\n"


def quoted(path: Path) -> str:
    """A path as SQL text."""
    return "'" + str(path).replace("'", "''") + "'"
