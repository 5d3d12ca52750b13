"""What the terminal shows: progress while a recording is logged, then the findings as a table.

Plain text without colour where the output is not a terminal; everything spoken is stripped of
control characters before it is shown.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn
from rich.table import Table
from rich.text import Text

from pipeline import wording
from pipeline.models import Finding, Record, Repair, Statement
from pipeline.times import clock
from pipeline.walkaround import Report, Saved
from pipeline.weigh.flags import is_noisy, reason


@contextmanager
def progress_bars(console: Console, quiet: bool) -> Iterator[Report]:
    """A report that draws one bar a step on a terminal, and nothing elsewhere."""
    bars = Progress(
        TextColumn("{task.description:<28}"),
        BarColumn(bar_width=30),
        TextColumn("{task.percentage:>3.0f} %"),
        TimeElapsedColumn(),
        console=console,
        transient=True,
        disable=quiet or not console.is_terminal,
    )
    tasks: dict[str, int] = {}

    def report(step: str, done: float, total: float) -> None:
        if step not in tasks:
            tasks[step] = bars.add_task(step, total=total or None)
        bars.update(tasks[step], completed=done, total=total or None)  # type: ignore[arg-type]

    with bars:
        yield report


def show_record(console: Console, record: Record, saved: Saved) -> None:
    """The findings, what is flagged and why, what nobody spoke of, and the next command."""
    console.print(Text(_title(record), style="bold"))
    if record.findings:
        console.print(_table(record.findings))
    else:
        console.print("No flaw was spoken of.")
    _show_flags(console, record)
    if is_noisy(record.source):
        console.print()
        console.print(
            f"A noisy recording: the voice stands {record.source.above_noise_db:.0f} dB above the "
            "noise. More than usual is flagged; nearer to the microphone it would be less."
        )
    if record.clean:
        praised = dict.fromkeys(wording.part_name(part) for part in record.clean)
        _show_list(console, "Called free of damage", list(praised))
    if record.unmentioned:
        names = [wording.bare_part_name(part) for part in record.unmentioned]
        _show_list(console, "Nobody spoke of", names)
    _show_saved(console, record, saved)


def _title(record: Record) -> str:
    vehicle = record.vehicle
    facts = [wording.vehicle_title(vehicle)]
    if vehicle.stock_number:
        facts.append(f"stock {wording.plain(vehicle.stock_number)}")
    if vehicle.odometer:
        facts.append(wording.odometer_text(vehicle.odometer))
    if vehicle.kind_basis != "given":
        basis = (
            "told by the talk" if vehicle.kind_basis == "talk" else "assumed; set it with --kind"
        )
        facts.append(f"{wording.kind_name(vehicle.kind)} ({basis})")
    return " · ".join(facts)


def _table(findings: list[Finding]) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold", expand=False)
    for name in ("id", "time"):
        table.add_column(name, no_wrap=True)
    for name in ("part", "flaw", "grade"):
        table.add_column(name)
    table.add_column("sure", justify="right", no_wrap=True)
    table.add_column("look", no_wrap=True)
    for finding in findings:
        cells = (
            finding.id,
            clock(finding.start_s),
            wording.part_name(finding),
            wording.defect_name(finding.defect) + _amount(finding),
            wording.grade_word(finding.severity),
            wording.sure(finding.confidence),
            "yes" if finding.status == "flagged" else "",
        )
        table.add_row(*map(Text, cells))  # as text: what was said is no markup
    return table


def _amount(finding: Finding) -> str:
    said = [f"{finding.count} of them"] if finding.count else []
    if finding.size_mm is not None:
        said.append(wording.size_text(finding.size_mm, "in"))
    if finding.area_pct is not None:
        said.append(f"{finding.area_pct:g} %")
    return f" ({', '.join(said)})" if said else ""


def _show_flags(console: Console, record: Record) -> None:
    flagged = [finding for finding in record.findings if finding.status == "flagged"]
    lines = [line for line in record.lines if line.flags]
    if not flagged and not lines:
        return
    console.print()
    console.print("To be looked at", style="bold")
    for finding in flagged:
        why = _why(finding.flags)
        said = wording.plain(finding.heard)
        console.print(Text(f'  {finding.id}  {clock(finding.start_s)}  "{said}": {why}'))
    for line in lines:
        why = _why(line.flags)
        said = f'"{wording.plain(line.text)}"' if line.text else "no words"
        console.print(Text(f"  {line.id}  {clock(line.start_s)}  {said}: {why}"))


def _why(flags: list[str]) -> str:
    return wording.plain("; ".join(reason(code) for code in flags))


def _show_list(console: Console, title: str, names: list[str]) -> None:
    console.print()
    console.print(Text.assemble((f"{title}: ", "bold"), ", ".join(names)))


def _show_saved(console: Console, record: Record, saved: Saved) -> None:
    console.print()
    if saved.kept is not None:
        kept = wording.plain(str(saved.kept))
        console.print(Text(f"{kept} holds a reviewer's work and was left as it is."))
    folder = wording.plain(str(saved.folder))
    console.print(Text(f"Written to {folder}"))
    open_questions = any(f.status == "flagged" for f in record.findings)
    open_questions = open_questions or any(line.flags for line in record.lines)
    command = "review" if open_questions else "publish"
    console.print(Text(f"Next: wearword {command} {_quoted(folder)}"))


def _quoted(path: str) -> str:
    return f'"{path}"' if " " in path else path


def show_reading(
    console: Console, phrase: str, statements: list[Statement], repairs: list[Repair]
) -> None:
    """How one phrase is read, and why: what the command `try` prints."""
    for repair in repairs:
        console.print(Text(wording.repair_text(repair)))
    if repairs:
        console.print()
    if not statements:
        console.print(Text(f'"{wording.plain(phrase)}" states no flaw.'))
        return
    for statement in statements:
        place = statement.place
        rows = {
            "part": f"{place.part}  (said: {place.part_said or 'nothing'})",
            "place": " ".join(filter(None, (place.side, place.position, place.detail)))
            or "not said",
            "flaw": statement.defect,
            "grade": f"{_or_none(statement.severity)}  ({statement.severity_basis})",
            "amount": _statement_amount(statement) or "not said",
            "heard": statement.heard,
            "read as": statement.read_as,
            "closeness": f"{statement.closeness:.2f}",
            "flags": _why(statement.notes) or "none",
        }
        for name, value in rows.items():
            console.print(Text.assemble((f"{name:<10}", "bold"), wording.plain(value)))
        console.print()


def _or_none(value: int | None) -> str:
    return "none" if value is None else str(value)


def _statement_amount(statement: Statement) -> str:
    said = [f"{statement.count} of them"] if statement.count else []
    if statement.size_mm is not None:
        said.append(f"{statement.size_mm:g} mm")
    if statement.area_pct is not None:
        said.append(f"{statement.area_pct:g} %")
    return ", ".join(said)
