"""Reads misheard words as the trade's words that they sound like, where the evidence is for it.

Candidates (`candidates.py`) are weighed by sound and context; with a recording at hand the
likeliest are then read against its sound (`hearing.py`), which has the last word. What is taken
changes `Word.read_as`; what was weighed stands in `Line.repairs`, taken or not.
"""

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from operator import attrgetter

from lexicon.load import FileText, Lexicon
from pipeline.logistic import load_model
from pipeline.models import Line, Repair, Transcript
from pipeline.weigh.candidates import Candidate, candidates
from pipeline.weigh.hearing import Judge, Reading

# Probabilities. Below the first a candidate is not even read against the sound; from the second on
# it is shown as another way to read the words.
WORTH_HEARING, WORTH_SHOWING = 0.02, 0.1
# From here on it is taken. Sound alone finds garbled captions' words at 0.3 and spoils one in sixty
# lines that were right; recordings are heard too well to take so much on trust.
TAKEN_BY_SOUND, TAKEN = 0.3, 0.4
REJECTED_NATS = -8.0  # so much less probable than what was heard, a reading was not said
_MOST_HEARD = 10  # candidates of one sentence, the likeliest
_LEAST_NATS, _MOST_NATS, _LEAST_OWN_NATS = -15.0, 8.0, -6.0  # farther off is no more telling
_ABOUT = ("doubt", "least", "lost_terms", "several", "english", "usual", "likelier")
_MARKS = re.compile(r"[.,!?;:]*$")


@dataclass(frozen=True)
class Weighed:
    """A candidate, how probable it is, and by how many nats the sound prefers it, where known."""

    candidate: Candidate
    probability: float
    margin: float | None = None


def repair(
    transcript: Transcript,
    lexicon: Lexicon,
    judge: Judge | None = None,
    extra: FileText | None = None,
) -> Transcript:
    """The transcript with what its misheard words are read as.

    `judge` reads candidates against the sound; without it (captions) likeness of sound and context
    decide alone. `extra` is the shop's own lexicon file.
    """
    found: dict[int, list[Repair]] = {}
    for sentence in candidates(transcript.lines, lexicon, extra):
        weighed = [by_sound(candidate) for candidate in sentence]
        if judge is not None:
            weighed = list(by_hearing(weighed, transcript.lines, judge))
        for one, taken in settled(weighed):
            found.setdefault(one.candidate.line, []).append(_as_repair(one, taken))
    lines = [read_line(line, found.get(at, [])) for at, line in enumerate(transcript.lines)]
    return transcript.model_copy(update={"lines": lines})


def by_sound(candidate: Candidate) -> Weighed:
    """A candidate weighed by how it sounds and where it stands."""
    return Weighed(candidate, load_model("weigh", "repair", "sound").probability(candidate.clues))


def by_hearing(
    weighed: Iterable[Weighed], lines: Sequence[Line], judge: Judge
) -> Iterator[Weighed]:
    """The likeliest of a sentence's candidates, weighed by what the recording makes of them too."""
    model = load_model("weigh", "repair", "heard")
    for one, clues in heard_clues(weighed, lines, judge):
        yield replace(one, probability=model.probability(clues), margin=clues["margin"])


def heard_clues(
    weighed: Iterable[Weighed], lines: Sequence[Line], judge: Judge
) -> Iterator[tuple[Weighed, dict[str, float]]]:
    """The likeliest of a sentence's candidates, and what the recording makes of each.

    `margin` is by how many nats it makes the sound likelier than what was heard does, `own` and
    `heard_own` how likely each is by token.
    """
    worth = sorted(weighed, key=lambda one: -one.probability)[:_MOST_HEARD]
    worth = [one for one in worth if one.probability >= WORTH_HEARING]
    worth.sort(key=_span)
    for (line, first, end), together in groupby(worth, key=_span):
        group = list(together)
        words = lines[line].words
        marks = _marks(words[end - 1].text)
        told = [" ".join(word.text for word in words[first:end])]
        told += [spelling + marks for spelling in group[0].candidate.spellings]
        texts = [one.candidate.read_as + marks for one in group]
        readings = judge.read(words, first, end, [*told, *texts])
        for one, reading in zip(group, readings[len(told) :], strict=False):
            yield one, _clues(one, max(readings[: len(told)]), reading)


def _clues(one: Weighed, heard: Reading, reading: Reading) -> dict[str, float]:
    about = one.candidate.clues
    return {
        "odds_by_sound": math.log(one.probability / (1 - one.probability)),
        "margin": _between(_LEAST_NATS, reading.total - heard.total, _MOST_NATS),
        "own": max(_LEAST_OWN_NATS, reading.own),
        "heard_own": max(_LEAST_OWN_NATS, heard.own),
        **{name: about[name] for name in _ABOUT},
    }


def _between(least: float, value: float, most: float) -> float:
    return max(least, min(value, most))


def settled(weighed: Iterable[Weighed]) -> Iterator[tuple[Weighed, bool]]:
    """The candidates worth showing, the likeliest first, and whether each is taken.

    No word is read in two ways, and nothing that the sound rejects is taken.
    """
    taken: list[Candidate] = []
    for one in sorted(weighed, key=lambda one: -one.probability):
        if one.probability < WORTH_SHOWING:
            return
        rejected = one.margin is not None and one.margin < REJECTED_NATS
        free = not any(_overlap(one.candidate, other) for other in taken)
        enough = TAKEN_BY_SOUND if one.margin is None else TAKEN
        take = free and not rejected and one.probability >= enough
        if take:
            taken.append(one.candidate)
        yield one, take


def _span(one: Weighed) -> tuple[int, int, int]:
    return one.candidate.line, one.candidate.first, one.candidate.end


def _overlap(one: Candidate, other: Candidate) -> bool:
    return one.line == other.line and one.first < other.end and other.first < one.end


def _as_repair(one: Weighed, taken: bool) -> Repair:
    candidate = one.candidate
    return Repair(
        first=candidate.first,
        end=candidate.end,
        heard=candidate.heard,
        read_as=candidate.read_as,
        role=candidate.phrase.role,
        id=candidate.phrase.id,
        probability=round(one.probability, 3),
        distance=candidate.clues["distance"],
        margin=None if one.margin is None else round(one.margin, 2),
        taken=taken,
    )


def read_line(line: Line, repairs: Sequence[Repair]) -> Line:
    """The line with repairs kept beside its earlier ones, and those taken made."""
    if not repairs:
        return line
    words = list(line.words)
    for made in filter(attrgetter("taken"), repairs):
        marks = _marks(words[made.end - 1].text)
        for at in range(made.first, made.end):
            text = "" if at > made.first else made.read_as
            if text and not _marks(text):
                text += marks
            words[at] = words[at].model_copy(update={"read_as": text})
    ordered = sorted([*line.repairs, *repairs], key=lambda each: (each.first, -each.probability))
    return line.model_copy(update={"words": words, "repairs": ordered})


def _marks(text: str) -> str:
    found = _MARKS.search(text)
    return found.group() if found else ""
