"""Listens again to lines that were hardly heard, with other weights, and keeps the better words.

Which lines are worth it follows from the probabilities of their words; how many, from a budget in
seconds of sound. Where the second listener hears other words, a fitted probability (`repair.toml`,
table `again`) says whether to read the line so; both stay in the record.
"""

import re
from collections.abc import Callable, Collection, Iterator, Sequence
from difflib import SequenceMatcher
from typing import NamedTuple

from lexicon.load import Lexicon
from pipeline.listen.media import Progress
from pipeline.listen.recogniser import decode_spans
from pipeline.listen.voice import PAD_S, WINDOW_S
from pipeline.listen.weights import SpeechModel
from pipeline.logistic import load_model
from pipeline.models import HEARD_AGAIN, Audio, Line, Repair, Transcript, Word
from pipeline.times import Interval
from pipeline.understand.amounts import number
from pipeline.understand.talk import COMMON_WORDS
from pipeline.weigh.candidates import plain
from pipeline.weigh.repair import TAKEN, read_line
from pipeline.weigh.sound_index import distance

BUDGET_SHARE = 0.3  # of the recording's length, where nobody says otherwise
WRONG_WORDS = 0.5  # a line with fewer wrong ones to expect is not worth another listen
_LOOSE_S = 0.1
_MARKS = re.compile(r"[^a-z0-9']")


class Difference(NamedTuple):
    """Words `first` to `end` (exclusive) of a line as first heard, and as heard again."""

    first: int
    end: int
    heard: Sequence[Word]
    again: Sequence[Word]

    def names_any(self, words: Collection[str]) -> bool:
        """Whether any of some words is in it, heard by one of the two."""
        said = f"{_plain(self.heard)} {_plain(self.again)}".split()
        return any(word in words for word in said)


def trade_words(lexicon: Lexicon) -> frozenset[str]:
    """The words of a lexicon's phrases that are not ordinary ones too."""
    said = {word for phrase in lexicon.phrases for word in phrase.text.split()}
    return frozenset(said - COMMON_WORDS)


def listen_again(
    transcript: Transcript,
    audio: Audio,
    second: Callable[[], SpeechModel | None],
    lexicon: Lexicon,
    budget_s: float,
    progress: Progress | None = None,
) -> Transcript:
    """The transcript with doubtful lines read as a second model hears them.

    `second` gives the model, if there is one; it is not asked where nothing is in doubt.
    `budget_s`: at most so much sound is listened to, the most doubtful lines first.
    """
    chosen = doubtful_lines(transcript.lines, budget_s)
    model = second() if chosen else None
    if model is None:
        return transcript
    spoken = [transcript.lines[at].interval for at in chosen]
    return read_again(transcript, chosen, decode_spans(audio, model, spoken, progress), lexicon)


def read_again(
    transcript: Transcript, chosen: Sequence[int], again: Sequence[Word], lexicon: Lexicon
) -> Transcript:
    """The transcript with some lines read as other words, heard in the same time, suggest.

    Only words of the trade are looked at, gained or lost: of others, the first listener, who was
    taught less, knows more.
    """
    lines, trade = list(transcript.lines), trade_words(lexicon)
    for at in chosen:
        own = [word for word in again if lies_in(word, lines[at].interval)]
        if own and lines[at].words:
            told = differences(lines[at].words, own)
            repairs = [_as_repair(each) for each in told if each.names_any(trade)]
            lines[at] = read_line(lines[at], repairs)
    return transcript.model_copy(update={"lines": lines})


def doubtful_lines(lines: Sequence[Line], budget_s: float) -> list[int]:
    """Indexes of the lines worth another listen, in time order, of the given length in all.

    Those with the most words expected to be wrong for each second of listening come first: on
    recordings of the split `fit` they held 70 % of what could be mended in 30 % of the sound.
    """
    worth = [
        (wrong / _listen_s(line), at)
        for at, line in enumerate(lines)
        if (wrong := _wrong(line)) >= WRONG_WORDS and _listen_s(line) <= WINDOW_S
    ]
    chosen, left_s = [], budget_s
    for _, at in sorted(worth, reverse=True):
        if _listen_s(lines[at]) <= left_s:
            chosen.append(at)
            left_s -= _listen_s(lines[at])
    return sorted(chosen)


def _listen_s(line: Line) -> float:
    return line.end_s - line.start_s + 2 * PAD_S


def _wrong(line: Line) -> float:
    """How many of a line's words are expected to be wrong, by their probabilities."""
    return sum(1 - word.probability for word in line.words if word.probability is not None)


def differences(heard: Sequence[Word], again: Sequence[Word]) -> Iterator[Difference]:
    """Where the second listener's words differ; "1,200", "1200" and "two", "2" do not."""
    for kind, *spots in _matcher(heard, again).get_opcodes():
        if kind != "equal":
            first, end, start, stop = _with_a_neighbour(*spots)
            yield Difference(first, end, heard[first:end], again[start:stop])


def _matcher(heard: Sequence[Word], again: Sequence[Word]) -> SequenceMatcher[str]:
    old, new = [_bare(word) for word in heard], [_bare(word) for word in again]
    return SequenceMatcher(None, old, new, autojunk=False)


def _as_repair(difference: Difference) -> Repair:
    first, end, heard, again = difference
    probability = load_model("weigh", "repair", "again").probability(again_clues(heard, again))
    return Repair(
        first=first,
        end=end,
        heard=_text(heard),
        read_as=_text(again),
        role=HEARD_AGAIN,
        id="",
        probability=round(probability, 3),
        distance=round(distance(_plain(heard), _plain(again)), 3),
        taken=probability >= TAKEN,
    )


def _with_a_neighbour(first: int, end: int, start: int, stop: int) -> tuple[int, int, int, int]:
    """Spans of old and new words; new ones with no old ones are read with an equal word beside."""
    if first < end:
        return first, end, start, stop
    return (first - 1, end, start - 1, stop) if first else (first, end + 1, start, stop + 1)


def again_clues(heard: Sequence[Word], again: Sequence[Word]) -> dict[str, float]:
    """How sure each listener was, how alike the words sound, and whether they are dropped."""
    doubt, worst = _doubts(heard)
    other_doubt, other_worst = _doubts(again)
    return {
        "doubt": doubt,
        "worst": worst,
        "other_doubt": other_doubt,
        "other_worst": other_worst,
        "distance": distance(_plain(heard), _plain(again)),
        "dropped": float(not again),
    }


def _doubts(words: Sequence[Word]) -> tuple[float, float]:
    """How unsure a listener was of words, on average and at worst."""
    known = [word.probability for word in words if word.probability is not None]
    return (1 - sum(known) / len(known), 1 - min(known)) if known else (0.0, 0.0)


def lies_in(word: Word, spoken: Interval) -> bool:
    """Whether a word heard again belongs to a line spoken in some time."""
    return spoken.start_s - _LOOSE_S <= (word.start_s + word.end_s) / 2 <= spoken.end_s + _LOOSE_S


def _bare(word: Word) -> str:
    """A word without marks; a number in words or digits alike."""
    text = _MARKS.sub("", word.text.lower())
    value = number(text) if text not in ("a", "an") else None
    return text if value is None else f"{value:g}"


def _text(words: Sequence[Word]) -> str:
    return " ".join(word.text for word in words)


def _plain(words: Sequence[Word]) -> str:
    return " ".join(filter(None, (plain(word.text) for word in words)))
