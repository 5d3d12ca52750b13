"""scripts/evaluate.py: what is measured, on what, and how it is grouped."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from evaluate import main
from evaluating.cases import Case, caption_cases, sound_cases, spread, text_cases
from evaluating.figures import breakdown, groups, pace, to_json
from evaluating.running import Outcome, run

from pipeline.models import Record
from pipeline.score.timing import exact_transcript
from tests.score.narration import perfect_record, truth


def perfect(case: Case, _threads: int) -> Record:
    """A system without fault."""
    return perfect_record(case.truth)


def deaf(case: Case, _threads: int) -> Record:
    """A system that hears nothing."""
    lines = exact_transcript(case.truth).lines
    return perfect_record(case.truth).model_copy(update={"findings": [], "lines": lines})


def outcomes() -> list[Outcome]:
    """A perfect and a deaf system on three small narrations."""
    cases = [
        Case(f"c{i}", truth().model_copy(update={"voice": voice, "condition": condition}))
        for i, (voice, condition) in enumerate([("a", "clean"), ("b", "wind"), ("b", "idle")])
    ]
    return list(run(cases, {"perfect": perfect, "deaf": deaf}, jobs=1))


def test_every_system_runs_on_every_case() -> None:
    found = outcomes()
    assert [(o.case, o.system) for o in found] == [
        (f"c{i}", system) for i in range(3) for system in ("perfect", "deaf")
    ]
    assert [len(o.differences) for o in found] == [0, 6] * 3
    assert all(factor >= 0 for factor in pace(found).values())


def test_groups_are_those_with_something_to_compare() -> None:
    assert [(label, value, len(members)) for label, value, members in groups(outcomes())] == [
        ("noise", "noisy", 4),
        ("noise", "quiet", 2),
        ("condition", "clean", 2),
        ("condition", "idle", 2),
        ("condition", "wind", 2),
        ("voice", "a", 2),
        ("voice", "b", 4),
    ]
    assert breakdown(outcomes()).row_count == 14


def test_json_has_totals_and_groups_of_each_system() -> None:
    data = to_json(outcomes())
    assert json.loads(json.dumps(data)) == data
    assert data["perfect"]["total"]["figures"]["findings_f1"] == 1.0
    assert data["deaf"]["total"]["counts"]["findings"] == {"right": 0, "wrong": 0, "missed": 15}
    assert [group["value"] for group in data["deaf"]["groups"]][-2:] == ["a", "b"]


@pytest.mark.parametrize(
    ("limit", "expected"), [(None, [0, 1, 2, 3, 4]), (2, [0, 2]), (9, [0, 1, 2, 3, 4]), (1, [0])]
)
def test_a_limit_is_spread_over_all(limit: int | None, expected: list[int]) -> None:
    assert spread(range(5), limit) == expected


def test_nothing_spread_is_nothing() -> None:
    assert spread([], 3) == []


@pytest.mark.parametrize("split", ["fit", "check", "final"])
def test_every_narration_can_be_timed(split: str) -> None:
    cases = text_cases(split)
    assert cases
    assert all(exact_transcript(case.truth).lines for case in cases)
    assert all(case.labels == {"split": split, "kind": case.truth.kind} for case in cases)


def test_captions_come_with_their_files() -> None:
    cases = caption_cases("fit") + caption_cases("check")
    assert len(cases) >= 10
    assert all(case.file is not None and case.file.suffix in (".vtt", ".srt") for case in cases)


def test_no_recording_of_a_condition_that_none_has() -> None:
    assert sound_cases("fit", ["nowhere"], None, 1) == []


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--split", "check", "--errors"], "--errors is for --split fit alone"),
        (["--split", "fit", "--split", "check", "--errors"], "--errors is for --split fit alone"),
        (["--split", "fit", "--text", "--condition", "wind"], "--condition has no use with --text"),
        ([], "Missing option '--split'"),
    ],
)
def test_what_cannot_be_is_refused(arguments: list[str], message: str) -> None:
    result = CliRunner().invoke(main, arguments)
    assert result.exit_code == 2
    assert message in result.output


def test_figures_are_printed_and_written(tmp_path: Path) -> None:
    written = tmp_path / "figures.json"
    arguments = ["--split", "fit", "--text", "--limit", "1", "--errors", "--json", str(written)]
    result = CliRunner().invoke(main, arguments)
    assert result.exit_code == 0, result.output
    assert "findings F1" in result.output
    assert json.loads(written.read_text("utf-8")).keys() == {"wearword", "baseline"}
