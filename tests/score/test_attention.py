"""pipeline/score/attention.py: what is shown to a reviewer, and what he can put right by it."""

import pytest

from pipeline.models import Finding, Line, Record
from pipeline.score.attention import errors_shown, lines_shown, reviewed, shown
from pipeline.score.measures import Share, Tally
from pipeline.score.scoring import match_findings, stated
from tests.score.narration import perfect_record, truth, with_line, with_more, without_finding

TRUTH = truth()
PERFECT = with_line(perfect_record(), 7, status="heard")  # nothing is flagged
FENDER = PERFECT.findings[0]
MISSED = without_finding(PERFECT, 1)


def wrong(**fields: object) -> Finding:
    """A finding that is not true, spoken where the fender's scratches are."""
    return FENDER.model_copy(update={"id": "F900", "defect": "dent", "mentions": [], **fields})


@pytest.mark.parametrize(
    ("record", "errors", "after"),
    [
        pytest.param(PERFECT, Share(0, 0), Tally(5, 0, 0), id="no errors"),
        pytest.param(MISSED, Share(0, 1), Tally(4, 0, 1), id="missed and not shown"),
        pytest.param(
            with_line(MISSED, 2, status="doubtful"), Share(1, 1), Tally(5, 0, 0), id="in a line"
        ),
        pytest.param(
            with_line(MISSED, 2, flags=["half_heard"]),
            Share(1, 1),
            Tally(5, 0, 0),
            id="flags alone",
        ),
        pytest.param(
            with_line(MISSED, 1, status="doubtful"),
            Share(1, 1),
            Tally(4, 0, 1),
            id="a line near by",
        ),
        pytest.param(
            with_more(MISSED, wrong(status="flagged")),
            Share(2, 2),
            Tally(5, 0, 0),
            id="a wrong finding corrected",
        ),
        pytest.param(
            with_more(PERFECT, wrong(status="flagged")),
            Share(1, 1),
            Tally(5, 0, 0),
            id="a wrong finding struck",
        ),
        pytest.param(
            with_more(PERFECT, wrong()), Share(0, 1), Tally(5, 1, 0), id="a wrong one not shown"
        ),
        pytest.param(
            with_more(MISSED, wrong(status="flagged", start_s=90.0, end_s=91.0)),
            Share(1, 2),
            Tally(4, 0, 1),
            id="a wrong finding elsewhere corrects nothing",
        ),
    ],
)
def test_errors_that_are_shown_are_put_right(record: Record, errors: Share, after: Tally) -> None:
    matching = match_findings(TRUTH, record)
    flagged = shown(stated(record), record.lines)
    assert errors_shown(matching, flagged) == errors
    assert reviewed(matching, flagged) == after


def test_one_wrong_finding_becomes_one_true_one_at_most() -> None:
    mirrors = without_finding(without_finding(PERFECT, 3), 2)
    left, right = PERFECT.findings[1:3]
    spoken = wrong(status="flagged", start_s=left.start_s, end_s=right.end_s)
    record = with_more(mirrors, spoken)
    flagged = shown(stated(record), record.lines)
    assert reviewed(match_findings(TRUTH, record), flagged) == Tally(4, 0, 1)


def test_a_line_counts_once_however_much_of_it_is_flagged() -> None:
    lines: list[Line] = with_line(PERFECT, 2, status="doubtful").lines
    findings = [wrong(status="flagged", line_id="L002"), wrong(status="flagged", line_id="L003")]
    assert lines_shown(lines, shown(findings, lines)) == Share(2, 8)
