"""pipeline/batch/table.py: what is shown, on a terminal and elsewhere."""

import io
from datetime import UTC, datetime
from pathlib import Path

import pytest
from rich.console import Console

from pipeline.batch.report import Entry, Report
from pipeline.batch.running import Status
from pipeline.batch.table import about, outcome, show_report, shown_progress

ENTRIES = (
    Entry(recording="/y/a.mp4", state="done", folder="/y/a.walkaround", findings=7, to_settle=2,
          duration_s=245.0, wall_s=31.2),
    Entry(recording="/y/b.mp4", state="skipped", folder="/y/b.walkaround", findings=1, to_settle=0),
    Entry(recording="/y/c.mp4", state="copy", copy_of="/y/a.mp4"),
    Entry(recording="/y/d.mp4", state="failed", error="/y/d.mp4: is not a recording"),
    Entry(recording="/y/e\x1b[31m.mp4"),
)  # fmt: skip


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        (ENTRIES[0], "7 findings, 2 to settle"),
        (ENTRIES[1], "done already"),
        (ENTRIES[2], "the same as /y/a.mp4"),
        (ENTRIES[3], "/y/d.mp4: is not a recording"),
        (ENTRIES[4], "not done"),
    ],
)
def test_outcome(entry: Entry, said: str) -> None:
    assert outcome(entry) == said


@pytest.mark.parametrize(
    ("left_s", "said"),
    [
        (None, "time left not known yet"),
        (0, "less than a minute left"),
        (59, "less than a minute left"),
        (61, "about 1 min left"),
        (5399, "about 90 min left"),
        (5400, "about 1.5 h left"),
    ],
)
def test_time_left_in_words(left_s: float | None, said: str) -> None:
    assert about(left_s) == said


def test_the_table_has_every_recording_and_the_sums() -> None:
    report = Report(
        program_version="1",
        kind=None,
        lexicon=None,
        speech_model="whisper-base",
        started_at=datetime(2031, 5, 4, tzinfo=UTC),
        recordings=list(ENTRIES),
    )
    console = Console(file=io.StringIO(), width=120)
    show_report(console, report, Path("/y/report.json"))
    shown = console.file.getvalue()  # type: ignore[attr-defined]
    for part in ("a.mp4", "4:05", "0:31", "a.walkaround", "done already: b.walkaround",
                 "the same as /y/a.mp4", "is not a recording", "e.mp4",
                 "1 copy, 1 done, 1 failed, 1 skipped, 1 waiting", "/y/report.json"):  # fmt: skip
        assert part in shown
    assert "\x1b" not in shown


@pytest.mark.parametrize("terminal", [True, False])
def test_each_recording_gets_a_line_as_it_ends(terminal: bool) -> None:
    console = Console(file=io.StringIO(), width=120, force_terminal=terminal)
    with shown_progress(console, quiet=False) as watch:
        watch(Status(ENTRIES[:2], settled=3, total=5, left_s=340))
    shown = console.file.getvalue()  # type: ignore[attr-defined]
    assert "2/5 a.mp4: 7 findings, 2 to settle" in shown
    assert "3/5 b.mp4: done already" in shown
    assert "about 6 min left" in shown


def test_quiet_is_quiet() -> None:
    console = Console(file=io.StringIO())
    with shown_progress(console, quiet=True) as watch:
        watch(Status(ENTRIES[:2], settled=2, total=5, left_s=340))
    assert console.file.getvalue() == ""  # type: ignore[attr-defined]
