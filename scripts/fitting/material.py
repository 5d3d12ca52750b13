"""What is learned from: recordings and exact texts of the split `weigh`, garbled captions."""

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from evaluating.cases import Case, caption_cases, text_cases
from render import RENDERED

from fitting.listening import Listened
from pipeline.listen.captions import read_captions
from pipeline.listen.weights import SpeechModel
from pipeline.models import Transcript, Word
from pipeline.score.timing import exact_transcript, timed
from pipeline.score.truth import Truth, read_truth
from pipeline.weigh.hearing import Judge, Reading

# Narrations that no rule was made for, by voices that the trade adapter has not learned from.
SPLIT = "weigh"
CAPTIONED = "fit"
# How much each counts: captions are few, and exact text is easier than what is garbled.
CAPTIONS, TEXT, SOUND = 2.0, 0.3, 1.0


class Heard(NamedTuple):
    """One thing to learn from: what was heard, what is true, and the sound where there is any."""

    name: str
    truth: Truth
    transcript: Transcript
    weight: float
    judge: Judge | None = None

    @property
    def narration(self) -> str:
        """The narration that it speaks, which other recordings speak as well."""
        return narration(self.name)


def narration(name: str) -> str:
    """The narration of a recording's name."""
    return name.partition(".")[0]


def recordings(only: Sequence[str]) -> Iterator[Case]:
    """The recordings there are, of some narrations or of all."""
    for path in sorted((RENDERED / SPLIT).glob("*.json")):
        truth = read_truth(path)
        if not only or narration(path.stem) in only:
            yield Case(path.stem, truth, path.with_suffix(".ogg"))


def captions() -> Iterator[Heard]:
    """The garbled captions."""
    for case in caption_cases(CAPTIONED):
        assert case.file is not None
        yield Heard(case.name, timed(case.truth), read_captions(case.file), CAPTIONS)


def texts() -> Iterator[Heard]:
    """The exact texts, in which every repair would be wrong."""
    for case in text_cases(SPLIT):
        yield Heard(case.name, timed(case.truth), exact_transcript(case.truth), TEXT)


def heard_without_doubt() -> Iterator[Heard]:
    """The exact texts as if each word had been heard for certain: only understanding errs."""
    for one in texts():
        sure = [
            line.model_copy(
                update={
                    "words": [word.model_copy(update={"probability": 1.0}) for word in line.words]
                }
            )
            for line in one.transcript.lines
        ]
        transcript = one.transcript.model_copy(update={"lines": sure})
        yield one._replace(transcript=transcript, weight=SOUND)


def sounds(listened: Iterable[tuple[Case, Listened]], model: SpeechModel) -> Iterator[Heard]:
    """The recordings, as the first listener alone hears them."""
    for case, own in listened:
        judge = Remembering(own.judge(model))
        yield Heard(case.name, timed(case.truth), own.transcript, SOUND, judge)


class Remembering:
    """A judge that reads a text over a sound once: candidates are read to learn, then to use."""

    def __init__(self, judge: Judge) -> None:
        self._judge = judge
        self._known: dict[tuple[float, int, int, str], Reading] = {}

    def read(
        self, words: Sequence[Word], first: int, end: int, texts: Sequence[str]
    ) -> list[Reading]:
        """As `Judge.read`."""
        keys = [(words[first].start_s, first, end, text) for text in texts]
        new = [text for key, text in zip(keys, texts, strict=True) if key not in self._known]
        read = self._judge.read(words, first, end, new)
        if len(read) < len(new):
            return []
        self._known |= {
            (words[first].start_s, first, end, text): reading
            for text, reading in zip(new, read, strict=True)
        }
        return [self._known[key] for key in keys]
