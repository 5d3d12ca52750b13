"""pipeline/batch/running.py: done is skipped, a failure stops nothing, a kill costs little."""

import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from filelock import FileLock

from lexicon.load import FileText, load_lexicon
from pipeline import record as record_module
from pipeline import walkaround
from pipeline.batch import running
from pipeline.batch.report import read_report
from pipeline.batch.running import Status, is_made_with, left_s
from pipeline.batch.work import Job
from pipeline.errors import BatchError
from pipeline.record import read_record, write_record
from tests.batch.fakes import OPTIONS, Inline, hearings, recording, run
from tests.killing import killed_at


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """Three recordings, one of them in a subfolder."""
    for number, name in enumerate(("a.wav", "b.wav", "ana/c.wav"), start=1):
        recording(tmp_path / name, number)
    return tmp_path


def states(folder: Path) -> dict[str, str]:
    report = read_report(folder / "report.json")
    assert report is not None
    return {Path(e.recording).relative_to(folder).as_posix(): e.state for e in report.recordings}


def test_every_recording_is_heard_and_saved(yard: Path) -> None:
    report = run(yard)
    assert report.counts == {"done": 3}
    assert report == read_report(yard / "report.json")
    assert report.ended_at is not None
    for entry in report.recordings:
        assert entry.folder is not None
        found = read_record(Path(entry.folder))
        assert found.source.sha256 == entry.sha256
        assert (entry.findings, entry.to_settle) == (len(found.findings), 4)
        assert entry.notices == ["a notice"]
    assert (yard / "ana" / "c.walkaround" / "findings.json").exists()


def test_a_bad_one_stops_no_other(yard: Path) -> None:
    recording(yard / "bad.wav", 4)
    (yard / "text.mp4").write_text("This is no film.")
    report = run(yard)
    assert report.counts == {"done": 3, "failed": 2}
    errors = {Path(e.recording).name: e.error for e in report.recordings if e.error}
    assert "is bad" in (errors["bad.wav"] or "")
    assert "is not a recording" in (errors["text.mp4"] or "")
    assert not (yard / "bad.walkaround").exists()


def test_what_is_done_is_skipped(yard: Path) -> None:
    first = run(yard)
    again = run(yard)
    assert again.counts == {"skipped": 3}
    assert [e.folder for e in again.recordings] == [e.folder for e in first.recordings]
    assert set(hearings(yard).values()) == {1}


def test_content_tells_not_the_name(yard: Path) -> None:
    run(yard)
    (yard / "a.wav").rename(yard / "renamed.wav")
    recording(yard / "b.wav", 7)
    report = run(yard)
    assert states(yard) == {"ana/c.wav": "skipped", "b.wav": "done", "renamed.wav": "skipped"}
    renamed = next(e for e in report.recordings if "renamed" in e.recording)
    assert renamed.folder == str(yard / "a.walkaround")


def test_without_the_report_findings_are_known_by_their_place(yard: Path) -> None:
    run(yard)
    (yard / "report.json").unlink()
    assert run(yard).counts == {"skipped": 3}


def test_other_settings_are_another_record(yard: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    run(yard)
    other = replace(OPTIONS, kind="motorcycle")
    assert run(yard, options=other).counts == {"done": 3}
    assert run(yard, options=other).counts == {"skipped": 3}
    monkeypatch.setattr(walkaround, "__version__", "99")
    assert run(yard, options=other).counts == {"done": 3}


def test_another_worth_of_an_error_is_another_record(yard: Path) -> None:
    run(yard)
    record = read_record(yard / "a.walkaround")
    assert is_made_with(record, OPTIONS)
    assert not is_made_with(record, replace(OPTIONS, glance_cost=0.025))
    record.settings.thresholds = {"glance_cost": 0.025}
    assert is_made_with(record, replace(OPTIONS, glance_cost=0.025))
    assert not is_made_with(record, OPTIONS)


def test_a_copy_is_heard_once(yard: Path) -> None:
    shutil.copy(yard / "a.wav", yard / "z.wav")
    report = run(yard)
    assert report.counts == {"done": 3, "copy": 1}
    assert report.recordings[-1].copy_of == str(yard / "a.wav")
    assert not (yard / "z.walkaround").exists()
    assert run(yard).counts == {"skipped": 3, "copy": 1}


def test_a_reviewers_work_is_kept_and_what_is_beside_it_known(yard: Path) -> None:
    run(yard)
    reviewed = read_record(yard / "a.walkaround")
    reviewed.findings[0].status = "confirmed"
    write_record(reviewed, yard / "a.walkaround")
    assert run(yard).counts == {"skipped": 3}
    other = replace(OPTIONS, kind="motorcycle")
    assert run(yard, options=other).recordings[0].folder == str(yard / "a.walkaround-2")
    assert read_record(yard / "a.walkaround") == reviewed
    assert read_record(yard / "a.walkaround-2").vehicle.kind_basis == "given"
    (yard / "report.json").unlink()
    assert run(yard, options=other).counts == {"skipped": 3}


def test_a_kind_put_right_in_review_makes_nothing_undone(yard: Path) -> None:
    run(yard)
    reviewed = read_record(yard / "a.walkaround")
    reviewed.vehicle.kind, reviewed.vehicle.kind_basis = "snowmobile", "reviewed"
    lexicon = load_lexicon("snowmobile")
    reviewed.settings.lexicon, reviewed.settings.lexicon_version = "snowmobile", lexicon.version
    write_record(reviewed, yard / "a.walkaround")
    assert run(yard).counts == {"skipped": 3}
    given = run(yard, options=replace(OPTIONS, kind="motorcycle"))
    assert given.counts == {"skipped": 1, "done": 2}


def test_words_added_since_make_nothing_undone(yard: Path) -> None:
    run(yard)
    shop = FileText("shop.toml", 'part_phrases = { seat = ["sofa"] }')
    assert run(yard, options=replace(OPTIONS, lexicon=shop)).counts == {"skipped": 3}


def test_findings_of_another_file_are_not_written_over(yard: Path) -> None:
    run(yard)
    (yard / "a.wav").rename(yard / "a.wave")  # out of the way, its findings stay
    recording(yard / "a.ogg", 9)
    report = run(yard)
    assert report.counts == {"done": 1, "skipped": 2}
    assert read_record(yard / "a.walkaround").source.file_name == "a.wav"


def test_later_lists_remember_earlier_ones(yard: Path) -> None:
    out = yard / "out"
    (yard / "monday.txt").write_text("a.wav\nb.wav\n")
    (yard / "tuesday.txt").write_text("again.wav\nana/c.wav\n")
    run(yard / "monday.txt", out=out)
    shutil.copy(yard / "a.wav", yard / "again.wav")
    assert run(yard / "tuesday.txt", out=out).counts == {"done": 1, "skipped": 1}
    assert run(yard / "monday.txt", out=out).counts == {"skipped": 2}


def test_killed_at_any_line_it_goes_on_where_it_was(tmp_path: Path) -> None:
    """Every seventh line of what runs and writes, as it comes, is a place to be killed at."""
    within: list[Callable[..., Any]] = [
        running._Batch.run,
        running._Batch.write,
        running._Batch._take,
        running._Batch._looked,
        running._Batch._told,
        walkaround.save,
        record_module.write_atomically,
    ]
    killed, step = True, 0
    while killed:
        yard = tmp_path / str(step)
        for number, name in enumerate(("a.wav", "b.wav"), start=1):
            recording(yard / name, number)
        killed = killed_at(step, lambda yard=yard: run(yard), within)  # type: ignore[misc]
        report = run(yard)
        assert sum(report.counts.get(state, 0) for state in ("done", "skipped")) == 2
        found = sorted(path.parent.name for path in yard.rglob("findings.json"))
        assert found == ["a.walkaround", "b.walkaround"]
        assert all(times <= 2 for times in hearings(yard).values())
        assert sum(hearings(yard).values()) <= 3  # what was on its way is lost, no more
        step += 7
    assert step > 100


class Stopped(Inline):
    """A pool that is interrupted at its first job."""

    def submit(self, job: Job) -> None:  # noqa: ARG002
        raise KeyboardInterrupt


def test_a_batch_that_is_stopped_at_once_forgets_nothing(yard: Path) -> None:
    run(yard)
    (yard / "a.wav").rename(yard / "renamed.wav")
    for _ in range(2):
        with pytest.raises(KeyboardInterrupt):
            run(yard, Stopped())
    assert set(states(yard).values()) == {"waiting"}
    assert run(yard).counts == {"skipped": 3}
    with pytest.raises(KeyboardInterrupt):
        run(yard, Stopped())
    (yard / "a.walkaround").rename(yard / "moved")  # and does not believe what is not there
    assert run(yard).counts == {"skipped": 2, "done": 1}


def test_missing_weights_stop_all(yard: Path) -> None:
    recording(yard / "a_weightless.wav", 8)
    with pytest.raises(BatchError, match="weights are not installed"):
        run(yard)
    assert states(yard)["b.wav"] == "waiting"


def test_one_batch_at_a_time(yard: Path) -> None:
    with (
        FileLock(yard / ".report.json.lock"),
        pytest.raises(BatchError, match="another batch is at work"),
    ):
        run(yard)


def test_it_tells_how_far_it_is(yard: Path) -> None:
    seen: list[Status] = []
    run(yard, watch=seen.append)
    assert [status.settled for status in seen if status.ended] == [1, 2, 3]
    assert {status.total for status in seen} == {3}
    assert seen[0].left_s is None
    assert seen[-1].left_s == 0


@pytest.mark.parametrize(
    ("recent", "waiting", "workers", "expected"),
    [
        ([], [(60, 0)], 1, None),
        ([], [], 1, 0),
        ([(100, 10)], [], 2, 0),
        ([(100, 10)], [(100, 0)] * 4, 1, 40),
        ([(100, 10)], [(100, 0)] * 4, 2, 20),
        ([(100, 10)], [(100, 4)], 1, 6),
        ([(100, 10)], [(100, 40)], 1, 0),  # slower than thought: no less than nothing
        ([(100, 10)], [(1000, 0), (100, 0)], 2, 100),  # one long one
        ([(100, 10), (300, 70)], [(100, 0)], 1, 20),  # by sound, not by recording
    ],
)
def test_time_left(
    recent: list[tuple[float, float]],
    waiting: list[tuple[float, float]],
    workers: int,
    expected: float | None,
) -> None:
    assert left_s(recent, waiting, workers) == expected
