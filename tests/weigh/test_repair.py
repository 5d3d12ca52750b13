"""What misheard words are read as."""

from collections.abc import Sequence

import pytest

from lexicon.load import load_lexicon
from pipeline.models import Repair, Word
from pipeline.weigh.hearing import Reading
from pipeline.weigh.repair import REJECTED_NATS, read_line, repair
from tests.weigh.said import transcript

LEXICON = load_lexicon("motorcycle")
SAID = "There is light fitting? on the fork, lower leg."


class Prefers:
    """A judge to whom one text is likelier than all others by so many nats."""

    def __init__(self, text: str, by: float) -> None:
        self.text, self.by = text, by
        self.asked: list[str] = []

    def read(
        self, words: Sequence[Word], first: int, end: int, texts: Sequence[str]
    ) -> list[Reading]:
        assert 0 <= first < end <= len(words)
        self.asked += texts
        return [
            Reading(self.by if text.startswith(self.text) else 0.0, -0.5 - (text != self.text))
            for text in texts
        ]


def test_a_reading_that_the_sound_prefers_is_taken() -> None:
    found = repair(transcript(SAID), LEXICON, Prefers("pitting", 6.0)).lines[0]
    assert [word.read_as for word in found.words if word.read_as] == ["pitting"]
    (made,) = [each for each in found.repairs if each.taken]
    assert (made.heard, made.id, made.role, made.margin) == ("fitting", "pitting", "defect", 6.0)
    assert found.text == SAID.replace("?", "")


def test_a_reading_that_the_sound_rejects_is_never_taken() -> None:
    judge = Prefers("fitting", -REJECTED_NATS + 1)
    found = repair(transcript(SAID), LEXICON, judge).lines[0]
    assert "pitting" in judge.asked
    assert all(word.read_as is None for word in found.words)


def test_captions_go_by_sound_and_context_alone() -> None:
    found = repair(transcript("The front vendor has a dent.", sure=None), LEXICON).lines[0]
    assert [word.read for word in found.words] == ["The", "front", "fender", "has", "a", "dent."]
    assert all(each.margin is None for each in found.repairs)


def test_right_words_stay() -> None:
    said = transcript("There is light pitting on the fork. The seat has a tear.", sure=None)
    assert all(word.read_as is None for word in repair(said, LEXICON).lines[0].words)


@pytest.mark.parametrize(
    ("first", "end", "read_as", "texts"),
    [
        (1, 2, "pitting", ["light", "pitting,", "here"]),
        (0, 2, "light pitting", ["light pitting,", "", "here"]),
        (2, 3, "there!", ["light", "fitting,", "there!"]),
    ],
)
def test_a_line_keeps_its_marks_when_read_otherwise(
    first: int, end: int, read_as: str, texts: list[str]
) -> None:
    line = transcript("light fitting, here").lines[0]
    made = Repair(
        first=first, end=end, heard="", read_as=read_as, role="words", id="",
        probability=0.9, distance=0.1, margin=None, taken=True,
    )  # fmt: skip
    found = read_line(line, [made])
    assert [word.read for word in found.words] == texts
    assert read_line(line, [made.model_copy(update={"taken": False})]).words == line.words
    assert read_line(line, []) == line
