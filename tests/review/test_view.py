"""pipeline/review/view.py: a question fits 80 columns, needs no colour, and reads well aloud."""

from io import StringIO

import pytest
from rich.console import Console, RenderableType

from pipeline.models import Repair, Word
from pipeline.review.decisions import (
    Accept,
    Amend,
    Amendment,
    Decision,
    Explain,
    Reclassify,
    Split,
    Undo,
)
from pipeline.review.journal import Entry
from pipeline.review.questions import Question, question_about
from pipeline.review.view import entry_text, question_text, question_words
from tests.review.records import NOON, flagged, line, reason, record

ODD = "\x1b[2Jcrack [bold]on\x07 the\u202e bag"


def asked(**fields: object) -> Question:
    """A question about a finding with everything to show."""
    given = {
        "side": "left",
        "side_basis": "inferred",
        "heard": "crack in the settle bag",
        "read_as": "crack in the saddlebag",
        "caution": "Have it looked at.",
        "readings": [{"text": "rust in the saddlebag", "part": "saddlebag", "defect": "rust"}],
    }
    item = flagged(2, "saddlebag", "crack", 2, **(given | fields))
    words = [
        Word(text=f" {text}", start_s=5, end_s=6, probability=probability)
        for text, probability in (("the", 0.9), ("settle", 0.2), ("bag", 0.3), ("lid", None))
    ]
    state = record(findings=[item])
    state.lines[1].words = words
    return question_about(state, item, reason)


def printed(shown: RenderableType, *, width: int = 80) -> str:
    """What a terminal without colour shows, without blanks at the ends of lines."""
    file = StringIO()
    Console(file=file, width=width, color_system=None, force_terminal=True).print(shown)
    return "".join(f"{row.rstrip()}\n" for row in file.getvalue().splitlines())


def test_a_finding_is_shown() -> None:
    assert printed(question_text(asked(), 3)) == (
        "\n"
        "──── 3 left ──── F002 at 0:06\n"
        "     0:00  there's a scratch on the tank\n"
        "   > 0:05  the [settle bag?] lid\n"
        "     0:10  moving on\n"
        "\n"
        "           Crack on the left saddlebag.\n"
        '           Read as "crack in the saddlebag", heard "crack in the settle bag"\n'
        "           Grade 3, moderate (none was said). Side not said, taken from the walk\n"
        "           Caution: Have it looked at\n"
        "           Why: it is a sound alike\n"
        '        1  or Left saddlebag: rust, from "rust in the saddlebag"\n'
    )


def test_a_long_line_stays_right_of_its_time() -> None:
    state = record()
    state.lines[0] = line(1, "and on " * 30, start_s=7200, end_s=7300)
    shown = printed(question_text(question_about(state, state.lines[0], reason), 1))
    rows = [row for row in shown.splitlines() if "and on" in row]
    assert rows[0].startswith("> 2:00:00  and on")
    assert len(rows) > 1
    assert all(row.startswith(" " * 11 + "and on") for row in rows[1:])
    assert max(map(len, shown.splitlines())) <= 80


def test_a_finding_is_told_in_words() -> None:
    assert printed(question_words(asked(), 3)) == (
        "\n"
        "3 left. Finding F002 at 0:06.\n"
        "Crack on the left saddlebag.\n"
        'Read as "crack in the saddlebag", heard "crack in the settle bag".\n'
        "Grade 3, moderate (none was said). Side not said, taken from the walk.\n"
        "Caution: Have it looked at.\n"
        "Why it is asked: it is a sound alike.\n"
        "Line before, 0:00: there's a scratch on the tank\n"
        "Line, 0:05: the settle bag (doubtful) lid\n"
        "Line after, 0:10: moving on\n"
        'Other reading 1: Left saddlebag: rust, from "rust in the saddlebag".\n'
    )


def test_a_line_is_asked_about() -> None:
    state = record()
    shown = printed(question_text(question_about(state, state.lines[5], reason), 1))
    assert "     0:20  [the mirth is all ding?]\n" in shown
    assert "   > 0:25  (no words were heard here)\n" in shown
    assert "Does the line speak of a flaw?" in shown


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"status": "struck"}, "Crack on the left saddlebag (struck)."),
        ({"severity": None}, "No grade."),
        ({"severity": 4, "severity_basis": "spoken"}, "Grade 4, considerable (as said)."),
        ({"severity": 4, "severity_basis": "area"}, "Grade 4, considerable (by its area)."),
    ],
)
def test_what_is_said_of_a_finding(fields: dict[str, object], says: str) -> None:
    assert says in printed(question_words(asked(**fields), 1))


def test_what_was_read_as_it_was_heard_is_not_told_twice() -> None:
    same = asked(heard="Crack in the  bag", read_as="crack in the bag")
    assert "Read as" not in printed(question_words(same, 1))


def test_a_learned_reading_is_explained() -> None:
    learned = {"heard": "settle bag", "read_as": "saddlebag", "role": "learned", "id": ""}
    repair = Repair(first=1, end=3, probability=0.7, distance=0.2, taken=True, **learned)
    question = asked()
    assert question.line
    question.line.repairs.append(repair)
    told = 'Reviewers have read "settle bag" as "saddlebag" before'
    assert told in printed(question_text(question, 1))
    question.line.repairs[0] = repair.model_copy(update={"taken": False})
    assert told not in printed(question_text(question, 1))


def test_a_caution_is_told_in_its_first_sentence() -> None:
    shown = printed(question_text(asked(caution="Have it looked at. No inspection."), 1))
    assert "Caution: Have it looked at\n" in shown


@pytest.mark.parametrize("show", [question_text, question_words])
def test_text_from_a_recording_does_not_act_on_the_terminal(show: object) -> None:
    assert callable(show)
    item = flagged(
        2, "other", "crack", 2, part_said=ODD, heard=ODD, read_as=ODD + ".", caution=ODD,
        readings=[{"text": ODD, "part": "mirror", "defect": "crack"}],
    )  # fmt: skip
    lines = [line(1, ODD), line(2, ODD), line(3, ODD, words=[])]
    question = question_about(record(findings=[item], lines=lines), item, reason)
    shown = printed(show(question, 1), width=200)
    assert "\x1b" not in shown
    assert "\x07" not in shown
    assert "\u202e" not in shown
    assert shown.count("crack [bold]on the bag") == 8


@pytest.mark.parametrize(
    ("decision", "told"),
    [
        (Accept(target="F002"), "F002 accept"),
        (
            Amend(target="F002", to=Amendment(part="mirror", side=None)),
            "F002 amend to part mirror, side none",
        ),
        (
            Split(target="F002", into=[Amendment(defect="dent"), Amendment(severity=1)]),
            "F002 split into defect dent; severity 1",
        ),
        (
            Explain(phrase="love mark", names="scuff"),
            "explain phrase love mark, names scuff",
        ),
        (Reclassify(to="snowmobile"), "reclassify to snowmobile"),
        (Undo(number=3), "undo number 3"),
    ],
)
def test_the_journal_is_told_line_by_line(decision: Decision, told: str) -> None:
    entry = Entry(number=4, by="Ann\x07", at=NOON, decision=decision, changes=[])
    assert entry_text(entry) == f"4. 2031-05-04 12:00 Ann: {told}"
