"""What the terminal shows of a batch: a line for each recording, how long it takes, a table."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn
from rich.table import Table
from rich.text import Text

from pipeline.batch.queue import file_name
from pipeline.batch.report import Entry, Report
from pipeline.batch.running import Status, Watch, unwatched
from pipeline.times import clock
from pipeline.wording import counted, plain


@contextmanager
def shown_progress(console: Console, quiet: bool) -> Iterator[Watch]:
    """A watch that prints a line for each recording, and draws a bar where there is a terminal."""
    if quiet:
        yield unwatched
        return
    bar = Progress(
        BarColumn(bar_width=30),
        TextColumn("{task.completed} of {task.total}  {task.description}"),
        console=console,
        transient=True,
        disable=not console.is_terminal,
    )
    task = bar.add_task("", total=None)

    def watch(status: Status) -> None:
        left = about(status.left_s)
        before = status.settled - len(status.ended)
        for number, entry in enumerate(status.ended, start=before + 1):
            line = f"{number}/{status.total} {file_name(entry.recording)}: {outcome(entry)}"
            line = plain(line if console.is_terminal else f"{line}; {left}")
            bar.console.print(Text(line), soft_wrap=True)
        bar.update(task, completed=status.settled, total=status.total, description=left)

    with bar:
        yield watch


def show_report(console: Console, report: Report, file: Path) -> None:
    """Every recording of the batch with what became of it, and the sums."""
    table = Table(box=None, pad_edge=False, header_style="bold")
    for name in ("recording", "length", "findings", "to settle", "took"):
        table.add_column(name, justify="left" if name == "recording" else "right")
    table.add_column("outcome", overflow="fold")
    for entry in report.recordings:
        table.add_row(
            Text(plain(file_name(entry.recording))),
            "" if entry.duration_s is None else clock(entry.duration_s),
            "" if entry.findings is None else str(entry.findings),
            "" if entry.to_settle is None else str(entry.to_settle),
            "" if entry.wall_s is None else clock(entry.wall_s),
            Text(plain(_where(entry, file.parent))),
        )
    console.print(table)
    sums = ", ".join(f"{number} {state}" for state, number in sorted(report.counts.items()))
    console.print(Text(f"\n{sums}. The report is in {plain(str(file))}"), soft_wrap=True)


def outcome(entry: Entry) -> str:
    """What became of a recording, in a few words."""
    match entry.state:
        case "failed":
            return entry.error or "failed"
        case "copy":
            return f"the same as {entry.copy_of}"
        case "skipped":
            return "done already"
        case "done":
            findings = counted(entry.findings or 0, "finding")
            return f"{findings}, {entry.to_settle or 0} to settle"
        case "waiting":
            return "not done"


def about(left_s: float | None) -> str:
    """A time left, no more exact than it is known.

    >>> about(340), about(8000)
    ('about 6 min left', 'about 2.2 h left')
    """
    if left_s is None:
        return "time left not known yet"
    if left_s < 60:
        return "less than a minute left"
    if left_s < 5400:
        return f"about {left_s / 60:.0f} min left"
    return f"about {left_s / 3600:.1f} h left"


def _where(entry: Entry, base: Path) -> str:
    """The folder of the findings, seen from that of the report where it lies below it."""
    folder = Path(entry.folder or "")
    shown = folder.relative_to(base) if folder.is_relative_to(base) else folder
    if entry.state == "done":
        return str(shown)
    return f"{outcome(entry)}: {shown}" if entry.state == "skipped" else outcome(entry)
