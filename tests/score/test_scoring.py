"""pipeline/score/scoring.py: each fault of a record moves the figures it should, and no other."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.errors import RecordError, TruthError
from pipeline.models import CleanPart, Finding, Line, Mention, Record
from pipeline.record import write_record
from pipeline.score.measures import Tally
from pipeline.score.scoring import Score, score, score_files
from pipeline.score.table import FIGURES
from pipeline.score.timing import exact_transcript, noise
from pipeline.score.truth import Say, Truth
from tests.score.narration import (
    misheard,
    perfect_record,
    truth,
    with_finding,
    with_line,
    with_more,
    without_finding,
)

TRUTH = truth()
PERFECT = perfect_record()
FENDER, LEFT = PERFECT.findings[:2]
WRONG = {"findings_f1", "findings_precision", "unflagged_precision", "errors_shown", "reviewed_f1"}
WRONG_AND_SURE = WRONG | {"ece", "brier"}
MISSED = {"findings_f1", "findings_recall", "errors_shown", "reviewed_f1"}


def figures(record: Record) -> dict[str, float | None]:
    """Every figure of a record of the small narration."""
    found = score(TRUTH, record)
    return {figure.key: figure.of(found) for figure in FIGURES}


def moved(record: Record) -> set[str]:
    """The figures that differ from those of the perfect record."""
    before, after = figures(PERFECT), figures(record)
    return {key for key in after if before[key] != pytest.approx(after[key])}


def another(finding: Finding, **fields: object) -> Finding:
    """One more finding, like another but for some fields."""
    return finding.model_copy(update={"id": "F900", "mentions": [], **fields})


def noisy_finding() -> Finding:
    """A finding where there is only noise."""
    (stretch,) = noise(TRUTH)
    return another(FENDER, defect="dent", start_s=stretch.start_s, end_s=stretch.end_s)


def test_a_perfect_record_has_nothing_against_it() -> None:
    zero = {"wrong_on_clean", "in_noise", "start_median_s", "start_p95_s", "word_error_rate"}
    zero |= {"trade_error_rate", "invented_rate", "ece", "brier"}
    known = figures(PERFECT)
    assert known.pop("errors_shown") is None
    assert known.pop("lines_shown") == 1 / len(PERFECT.lines)
    assert known == {key: 0.0 if key in zero else 1.0 for key in known}


def test_an_empty_record_finds_nothing_and_states_nothing_wrong() -> None:
    empty = PERFECT.model_copy(update={"findings": [], "clean": [], "lines": []})
    found = score(TRUTH, empty)
    assert (found.findings.precision, found.findings.recall, found.findings.f1) == (None, 0.0, 0.0)
    assert (found.clean.recall, found.mentions.recall, found.reviewed.f1) == (0.0, 0.0, 0.0)
    assert found.words.words.ratio == 1.0
    assert found.errors_shown.ratio == 0.0
    assert found.place.ratio is None
    assert found.promises.ece() is None


@pytest.mark.parametrize(
    ("record", "expected"),
    [
        pytest.param(
            with_finding(PERFECT, 1, start_s=FENDER.start_s + 0.3),
            {"start_p95_s"},
            id="a late start",
        ),
        pytest.param(with_finding(PERFECT, 1, end_s=FENDER.end_s + 0.3), set(), id="a late end"),
        pytest.param(with_finding(PERFECT, 2, side="right"), {"place"}, id="a wrong side"),
        pytest.param(with_finding(PERFECT, 2, side=None), {"place"}, id="no side"),
        pytest.param(with_finding(PERFECT, 1, position="rear"), {"place"}, id="a wrong position"),
        pytest.param(with_finding(PERFECT, 1, severity=3), {"severity"}, id="a grade off by one"),
        pytest.param(
            with_finding(PERFECT, 1, severity=4),
            {"severity", "severity_within_one"},
            id="a grade off by two",
        ),
        pytest.param(
            with_finding(PERFECT, 5, severity=3),
            {"severity", "severity_within_one"},
            id="a grade where there is none",
        ),
        pytest.param(with_finding(PERFECT, 1, count=2), {"count_f1"}, id="a wrong count"),
        pytest.param(with_finding(PERFECT, 2, count=1), {"count_f1"}, id="an invented count"),
        pytest.param(with_finding(PERFECT, 1, size_mm=51.2), set(), id="a size within 0.5 mm"),
        pytest.param(with_finding(PERFECT, 1, size_mm=51.4), {"size_f1"}, id="a size beyond"),
        pytest.param(with_finding(PERFECT, 1, size_mm=None), {"size_f1"}, id="no size"),
        pytest.param(with_finding(PERFECT, 4, area_pct=60.0), {"area_f1"}, id="a wrong area"),
        pytest.param(with_finding(PERFECT, 2, mentions=[]), {"mentions_f1"}, id="no mention"),
        pytest.param(
            with_finding(
                PERFECT,
                1,
                mentions=[Mention(start_s=FENDER.start_s, end_s=FENDER.end_s, heard="fender")],
            ),
            {"mentions_f1"},
            id="a mention too many",
        ),
        pytest.param(
            with_finding(PERFECT, 1, confidence=0.8), {"ece", "brier"}, id="too little confidence"
        ),
        pytest.param(
            with_finding(PERFECT, 1, status="flagged", flags=["near_spelling"], line_id="L002"),
            {"lines_shown"},
            id="a right finding flagged",
        ),
        pytest.param(with_more(PERFECT, another(FENDER)), WRONG_AND_SURE, id="a doubled finding"),
        pytest.param(
            with_more(PERFECT, another(FENDER, defect="dent")), WRONG_AND_SURE, id="a wrong finding"
        ),
        pytest.param(
            with_more(PERFECT, another(FENDER, part="seat", position=None)),
            WRONG_AND_SURE | {"wrong_on_clean"},
            id="a wrong finding on a clean part",
        ),
        pytest.param(
            with_more(PERFECT, noisy_finding()),
            WRONG_AND_SURE | {"in_noise"},
            id="a finding in noise",
        ),
        pytest.param(
            with_more(PERFECT, another(FENDER, defect="dent", confidence=0.0, status="flagged")),
            {"findings_f1", "findings_precision", "errors_shown"},
            id="a wrong finding that is flagged",
        ),
        pytest.param(
            without_finding(PERFECT, 1),
            MISSED | {"size_f1", "count_f1"},
            id="the only sized flaw missed",
        ),
        pytest.param(without_finding(PERFECT, 3), MISSED, id="a missed flaw"),
        pytest.param(with_finding(PERFECT, 3, status="struck"), MISSED, id="a struck finding"),
        pytest.param(without_finding(PERFECT, 2), MISSED | {"mentions_f1"}, id="missed, mentioned"),
        pytest.param(
            PERFECT.model_copy(update={"clean": []}), {"clean_f1"}, id="a clean part missed"
        ),
        pytest.param(
            PERFECT.model_copy(
                update={"clean": [*PERFECT.clean, CleanPart(part="hood", start_s=1, end_s=2)]}
            ),
            {"clean_f1"},
            id="a clean part invented",
        ),
        pytest.param(
            PERFECT.model_copy(
                update={"vehicle": PERFECT.vehicle.model_copy(update={"year": 2013})}
            ),
            {"header"},
            id="a wrong year",
        ),
        pytest.param(
            PERFECT.model_copy(update={"vehicle": PERFECT.vehicle.model_copy(update={"vin": "1"})}),
            {"header"},
            id="a number nobody said",
        ),
        pytest.param(
            PERFECT.model_copy(
                update={"vehicle": PERFECT.vehicle.model_copy(update={"stock_number": "b-4471"})}
            ),
            set(),
            id="a stock number written otherwise",
        ),
        pytest.param(
            PERFECT.model_copy(
                update={"vehicle": PERFECT.vehicle.model_copy(update={"kind": "watercraft"})}
            ),
            {"kind"},
            id="a wrong kind",
        ),
        pytest.param(
            misheard(PERFECT, 5, "repainted", "retained"),
            {"word_error_rate", "trade_error_rate"},
            id="a trade word misheard",
        ),
        pytest.param(
            misheard(PERFECT, 1, "Here", "Dent"),
            {"word_error_rate", "invented_rate"},
            id="a trade word invented",
        ),
        pytest.param(
            with_line(PERFECT, 1, status="doubtful"), {"lines_shown"}, id="a line flagged"
        ),
        pytest.param(
            with_line(PERFECT, 7, status="heard"),
            {"lines_shown", "unheard_shown"},
            id="an unheard line not flagged",
        ),
    ],
)
def test_a_fault_moves_its_own_figures(record: Record, expected: set[str]) -> None:
    assert moved(record) == expected


def test_findings_of_one_phrase_are_told_apart_by_place() -> None:
    swapped = PERFECT.model_copy(
        update={
            "findings": [
                another(LEFT, id="F001", side="right"),
                another(LEFT, id="F002", side="left", start_s=LEFT.start_s + 0.1),
            ]
        }
    )
    both = TRUTH.model_copy(
        update={
            "say": [
                say.model_copy(
                    update={
                        "findings": [
                            flaw.model_copy(update={"start_s": LEFT.start_s, "end_s": LEFT.end_s})
                            for flaw in say.findings
                            if flaw.part == "mirror" and flaw.mention_of is None
                        ]
                    }
                )
                for say in TRUTH.say
            ]
        }
    )
    found = score(both, swapped)
    assert found.findings == Tally(2, 0, 0)
    assert found.place.ratio == 1.0


# --- scores add ---------------------------------------------------------------------------------

RECORDS = st.builds(
    lambda dropped, sides, flagged: PERFECT.model_copy(
        update={
            "findings": [
                f.model_copy(
                    update={
                        "side": "left" if f.id in sides else f.side,
                        "status": "flagged" if f.id in flagged else "clear",
                    }
                )
                for f in PERFECT.findings
                if f.id not in dropped
            ]
        }
    ),
    *[st.sets(st.sampled_from([f.id for f in PERFECT.findings])) for _ in range(3)],
)


@settings(max_examples=25, deadline=None)
@given(RECORDS, RECORDS)
def test_scores_add_like_their_counts(one: Record, two: Record) -> None:
    first, second = score(TRUTH, one), score(TRUTH, two)
    both = first + second
    assert both.narrations == 2
    assert both.findings.right == len(one.findings) + len(two.findings)
    assert both.findings.missed == 10 - both.findings.right
    assert len(both.promises.made) == both.findings.right
    assert both.place == first.place + second.place
    assert (second + first).findings == both.findings


@settings(max_examples=25, deadline=None)
@given(RECORDS)
def test_what_is_scored_holds_together(record: Record) -> None:
    found = score(TRUTH, record)
    assert found.findings.right + found.findings.missed == 5
    assert found.findings.right + found.findings.wrong == len(record.findings)
    assert found.reviewed.right + found.reviewed.missed == 5
    assert (found.reviewed.f1 or 0) >= (found.findings.f1 or 0)
    assert found.errors_shown.total == found.findings.wrong + found.findings.missed


# --- files --------------------------------------------------------------------------------------


def test_files_are_scored_like_what_is_in_them(tmp_path: Path) -> None:
    truth_path = tmp_path / "small.json"
    truth_path.write_text(TRUTH.model_dump_json(exclude_none=True), "utf-8")
    write_record(PERFECT, tmp_path / "findings.json")
    found = score_files(truth_path, tmp_path)
    assert isinstance(found, Score)
    assert found == score(TRUTH, PERFECT)


def test_a_missing_file_is_one_clear_line(tmp_path: Path) -> None:
    truth_path = tmp_path / "small.json"
    with pytest.raises(TruthError, match=r"small\.json: cannot be read as a truth file"):
        score_files(truth_path, tmp_path)
    truth_path.write_text(TRUTH.model_dump_json(exclude_none=True), "utf-8")
    with pytest.raises(RecordError, match="no findings file here"):
        score_files(truth_path, tmp_path)


def test_a_truth_without_times_cannot_be_scored() -> None:
    untimed = Truth(id="x", kind="motorcycle", split="fit", say=[Say(text="Hello.")])
    with pytest.raises(TruthError, match="no times"):
        score(untimed, PERFECT)


def test_an_exact_transcript_has_no_errors_in_words() -> None:
    lines: list[Line] = exact_transcript(TRUTH).lines
    assert score(TRUTH, PERFECT.model_copy(update={"lines": lines})).words.words.ratio == 0.0
