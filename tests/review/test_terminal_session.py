"""pipeline/review/terminal.py: a whole review in a real terminal, by somebody who knows the truth."""

import os
import sys
from collections import defaultdict
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from statistics import median
from typing import NamedTuple

import pytest

from pipeline.models import Record
from pipeline.record import read_record
from pipeline.review.decisions import (
    Accept,
    Add,
    Amend,
    Decision,
    Reread,
    Strike,
    UnderstandText,
)
from pipeline.review.questions import Question, question_about, with_words_as_heard
from pipeline.review.wordbook import Wordbook, added_phrases, lexicon_path
from pipeline.score.scoring import match_findings, score
from pipeline.score.timing import timed, when
from pipeline.score.truth import Truth, read_truth
from pipeline.times import clock
from pipeline.walkaround import Options, log_recording, log_transcript, save
from pipeline.weigh.flags import GLANCE_COST, reason

ROOT = Path(__file__).resolve().parents[2]
HEADING = "──── [0-9]+ left ──── ([FL][0-9]+) at"
ENTER = "\r"

pexpect = pytest.importorskip("pexpect", reason="needs a terminal of a POSIX system")


class Held(NamedTuple):
    """What a session came to: the keys of each question, and the findings' F1.

    `settled_f1` once all that was flagged is settled, `f1` once what was missed is added at the end.
    """

    keys: dict[str, int]
    settled_f1: float
    f1: float


def question_on(folder: Path, target: str) -> Question:
    record = read_record(folder)
    item = next(each for each in (*record.findings, *record.lines) if each.id == target)
    return with_words_as_heard(question_about(record, item, reason), understand_text(record))


def understand_text(record: Record) -> UnderstandText:
    return partial(Wordbook().understand_text, kind=record.vehicle.kind)


def keys_for(decision: Decision, question: Question) -> Iterator[str]:
    """What is typed for a decision: keys, and lines between them."""
    if getattr(decision, "target", question.target) != question.target:
        ids = [finding.id for finding in question.found]
        yield str(ids.index(decision.target) + 1)  # type: ignore[union-attr]
    match decision:
        case Accept():
            yield ENTER
        case Strike():
            yield "s"
        case Reread(said=said):
            yield from ("t", said, ENTER, ENTER)
        case Amend(to=to):
            for number, reading in enumerate(question.readings, 1):
                if (reading.part, reading.defect) == (to.part, to.defect):
                    yield str(number)
                    return
            yield from ("p", to.part, ENTER, "d", to.defect, ENTER, ENTER)
        case Add(at_s=at_s, finding=finding):
            yield from (
                "+",
                clock(at_s),
                ENTER,
                finding.part,
                ENTER,
                finding.defect,
                ENTER,
                ENTER,
            )


def f1(truth: Truth, folder: Path) -> float:
    return score(truth, read_record(folder)).findings.f1 or 0.0


def hold(folder: Path, truth: Truth, learned: Path) -> Held:
    """Reviews a folder in a terminal of 80 columns, question by question as they are shown."""
    from evaluating.guide import decision_on

    command = ["-m", "pipeline.cli", "review", str(folder), "--learned", str(learned)]
    environment = {**os.environ, "TERM": "xterm", "PYTHONPATH": str(ROOT)}
    child = pexpect.spawn(
        sys.executable, command, dimensions=(40, 80), env=environment, encoding="utf-8", timeout=60
    )
    keys, asked = defaultdict[str, int](int), ""
    while child.expect([HEADING, "Everything is settled"]) == 0:
        target = child.match[1]
        child.expect_exact("? more")
        question, record = question_on(folder, target), read_record(folder)
        decision = decision_on(question, record, truth, understand_text(record))
        typed = list(keys_for(decision, question))
        if question.finding and question.finding.status != "flagged":
            typed = [ENTER]  # it was put right a moment ago
        else:
            asked = target  # what is typed to go on from here is counted to this question too
        stays = typed[-2:] == [ENTER, ENTER]
        sent = "".join(typed[:-1] if stays else typed)
        keys[asked] += len(sent)
        child.send(sent)
    settled_f1 = f1(truth, folder)
    for flaw in match_findings(timed(truth), read_record(folder)).missed:
        child.expect_exact("b goes back")
        at_s = clock(when(flaw).start_s)
        child.send("".join(["+", at_s, ENTER, flaw.part, ENTER, flaw.defect, ENTER]))
        child.expect(HEADING)
        child.send(ENTER)
        child.expect("Everything is settled")
    child.expect_exact("b goes back")
    child.send(ENTER)
    child.expect("nothing left")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0
    return Held(dict(keys), settled_f1, f1(truth, folder))


def logged_sample(name: str, folder: Path) -> Path:
    """A sample, logged: its findings folder."""
    [recording] = (ROOT / "samples").glob(f"{name}.m[4p]?")
    record = log_recording(recording, Options()).record
    return save(record, folder / f"{name}.walkaround").folder


def logged_captions(name: str, folder: Path, glance_cost: float = GLANCE_COST) -> Path:
    """Captions with many a word garbled, logged: their findings folder."""
    [captions] = (ROOT / "tests" / "captions").glob(f"{name}.[vs]*")
    record = log_transcript(captions, None, Options(glance_cost=glance_cost)).record
    return save(record, folder / f"{name}.walkaround").folder


@pytest.mark.parametrize(
    ("logged", "truth_file"),
    [
        (partial(logged_sample, "brackwater"), "samples/brackwater.json"),
        (partial(logged_captions, "g07", glance_cost=1 / 25), "tests/captions/g07.toml"),
    ],
    ids=["a recording", "garbled captions"],
)
def test_settling_what_is_flagged_gets_it_right(
    logged: Callable[[Path], Path], truth_file: str, tmp_path: Path
) -> None:
    """The captions with errors dearer than usual: of more questions more are right as they are."""
    folder, truth = logged(tmp_path), read_truth(ROOT / truth_file)
    before = f1(truth, folder)
    held = hold(folder, truth, tmp_path / "learned.json")
    assert before <= held.settled_f1
    assert held.settled_f1 >= 0.98
    assert median(held.keys.values()) <= 3


@pytest.mark.parametrize("name", ["g02", "g04", "g06", "g07"])
def test_at_the_usual_price_enough_is_flagged_of_garbled_captions(
    name: str, tmp_path: Path
) -> None:
    """Most of these questions are of wrong findings, whose sentence is typed anew: 19 to 47 keys."""
    folder = logged_captions(name, tmp_path)
    truth = read_truth(ROOT / "tests" / "captions" / f"{name}.toml")
    before = f1(truth, folder)
    held = hold(folder, truth, tmp_path / "learned.json")
    assert before < 0.9
    assert held.settled_f1 >= 0.98


def test_what_is_not_flagged_can_be_added_at_the_end(tmp_path: Path) -> None:
    folder, truth = logged_sample("calder", tmp_path), read_truth(ROOT / "samples" / "calder.json")
    before = f1(truth, folder)
    held = hold(folder, truth, tmp_path / "learned.json")
    assert before <= held.settled_f1 <= held.f1
    assert held.f1 >= 0.98


@pytest.mark.parametrize("plain", [False, True])
def test_words_and_kind_are_put_right_in_a_terminal(tmp_path: Path, plain: bool) -> None:
    captions = tmp_path / "walk.vtt"
    captions.write_text(
        "WEBVTT\n\n00:00.000 --> 00:04.000\n"
        "This bike has a scratch on the tunnel, and a hickey on the hood.\n"
    )
    folder = save(log_transcript(captions, None, Options()).record, tmp_path / "walk").folder
    command = ["-m", "pipeline.cli", "review", str(folder), *(["--plain"] if plain else [])]
    environment = {**os.environ, "TERM": "xterm", "PYTHONPATH": str(ROOT), "NO_COLOR": "1"}
    child = pexpect.spawn(
        sys.executable, command, dimensions=(40, 80), env=environment, encoding="utf-8", timeout=60
    )
    key_ends = ENTER if plain else ""
    child.expect_exact("Taken for a motorcycle, as the talk tells; c corrects that.")
    child.expect_exact("?")
    child.send(f"c{key_ends}")
    child.expect_exact("3 snowmobile")
    child.send(f"3{key_ends}")
    child.expect_exact("what is settled stays")
    child.send(f"+{key_ends}{ENTER}hood{ENTER}hickey{ENTER}")
    child.expect_exact("e explains it")
    child.send(f"e{key_ends}scuff{ENTER}")
    child.expect_exact("'hickey' is kept as a word for scuff.")
    child.expect_exact("? ")
    child.send(f"q{key_ends}")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0
    record = read_record(folder)
    assert record.vehicle.kind == "snowmobile"
    assert [(item.part, item.defect) for item in record.findings] == [
        ("tunnel", "scratch"), ("hood", "scuff"),
    ]  # fmt: skip
    assert added_phrases(lexicon_path()) == [("hickey", "scuff")]
