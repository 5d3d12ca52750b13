"""What corrections have taught is read again, unless the sound denies it."""

from collections.abc import Sequence

import pytest

from pipeline.logistic import Logistic
from pipeline.models import LEARNED, Line, Transcript, Word
from pipeline.weigh import lessons
from pipeline.weigh.hearing import Reading
from pipeline.weigh.lessons import Taught, digest_of, recall

SETTLE = Taught("settle bag", "saddlebag", 1)


@pytest.fixture(autouse=True)
def _margin_weight(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever the fitted weight is at the time."""
    fixed = Logistic(always=0.0, weights={"margin": 0.3})
    monkeypatch.setattr(lessons, "load_model", lambda *_: fixed)


class Ear:
    """A judge to whom every other text than the first is `margin` nats likelier."""

    def __init__(self, margin: float) -> None:
        self.margin = margin
        self.asked: list[Sequence[str]] = []

    def read(
        self, _words: Sequence[Word], _first: int, _end: int, texts: Sequence[str]
    ) -> list[Reading]:
        self.asked.append(texts)
        return [Reading(-20.0 + (self.margin if at else 0.0), -1.0) for at in range(len(texts))]


class Deaf:
    """A judge who has no sound for the words."""

    def read(self, *_args: object) -> list[Reading]:
        return []


def heard(text: str, **read_as: str) -> Transcript:
    """One line; `read_as` gives what single words are read as already."""
    words = [
        Word(text=word, start_s=at, end_s=at + 0.9, read_as=read_as.get(word))
        for at, word in enumerate(text.split())
    ]
    line = Line(id="L001", start_s=0, end_s=len(words), text=text, words=words)
    return Transcript(origin="recogniser", lines=[line], duration_s=len(words))


def read(transcript: Transcript) -> str:
    return " ".join(filter(None, (word.read for word in transcript.lines[0].words)))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Settle bag, cracked.", "saddlebag, cracked."),
        ("a crack in the settle-bag.", "a crack in the saddlebag."),
        ("settle the bag", "settle the bag"),
        ("settle bag settle bag", "saddlebag saddlebag"),
        ("settle bag lid", "saddlebag cover"),
        ("", ""),
    ],
    ids=["marks", "one word", "not beside", "twice", "the longer lesson first", "no words"],
)
def test_words_are_read_as_taught(text: str, expected: str) -> None:
    taught = [SETTLE, Taught("settle bag lid", "saddlebag cover", 1)]
    assert read(recall(heard(text), taught)) == expected


@pytest.mark.parametrize(
    ("times", "margin", "taken"),
    [(1, 0.0, True), (1, -2.0, True), (1, -4.0, False), (5, -4.0, True), (10**6, -8.1, False)],
)
def test_the_sound_has_its_say(times: int, margin: float, taken: bool) -> None:
    after = recall(heard("the settle bag"), [SETTLE._replace(times=times)], Ear(margin))
    [repair] = after.lines[0].repairs
    assert (repair.role, repair.first, repair.end, repair.margin) == (LEARNED, 1, 3, margin)
    assert repair.taken == taken
    assert read(after) == ("the saddlebag" if taken else "the settle bag")


def test_the_sound_compares_plain_words() -> None:
    ear = Ear(0.0)
    recall(heard("Settle bag."), [SETTLE], ear)
    assert ear.asked == [["settle bag", "saddlebag"]]


def test_what_cannot_be_heard_goes_by_the_corrections_alone() -> None:
    [repair] = recall(heard("settle bag"), [SETTLE], Deaf()).lines[0].repairs
    assert (repair.taken, repair.margin, repair.probability) == (True, None, 0.667)


def test_what_is_out_of_the_question_is_not_kept() -> None:
    assert recall(heard("settle bag"), [SETTLE], Ear(-20.0)).lines[0].repairs == []


def test_words_read_otherwise_already_stay_so() -> None:
    before = heard("settle bag", settle="kettle")
    assert recall(before, [SETTLE]) == before


def test_nothing_taught_changes_nothing() -> None:
    assert recall(heard("settle bag"), []) == heard("settle bag")


def test_all_that_is_taught_has_a_name() -> None:
    other = Taught("rotter", "rotor", 2)
    assert digest_of([]) is None
    assert digest_of([SETTLE, other]) == digest_of([other, SETTLE])
    assert digest_of([SETTLE]) != digest_of([SETTLE._replace(times=2)])
