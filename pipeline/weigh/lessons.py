"""Reads words as corrections have taught to read them, where the recording does not deny it.

How often something was corrected speaks for it, and with a recording at hand the sound has its say:
where it finds the words heard much likelier, they stay as heard.
"""

import hashlib
import json
import math
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from pipeline.logistic import Logistic, load_model
from pipeline.models import LEARNED, Line, Repair, Transcript, Word
from pipeline.weigh.candidates import plain
from pipeline.weigh.hearing import Judge
from pipeline.weigh.repair import REJECTED_NATS, TAKEN, WORTH_SHOWING, read_line
from pipeline.weigh.sound_index import distance


class Taught(NamedTuple):
    """What some words, plainly written, were by so many corrections of reviewers."""

    heard: str
    read_as: str
    times: int


def digest_of(taught: Sequence[Taught]) -> str | None:
    """A short name for all that is taught, whatever its order; None for nothing."""
    if not taught:
        return None
    return hashlib.sha256(json.dumps(sorted(taught)).encode()).hexdigest()[:12]


def recall(
    transcript: Transcript, taught: Sequence[Taught], judge: Judge | None = None
) -> Transcript:
    """The transcript with words read as they are taught to be.

    `judge` asks the sound; without it (captions) only the number of corrections counts. Words that
    are read as others already stay so.
    """
    if not taught:
        return transcript
    lessons = {one.heard: one for one in taught}
    lines = [_read(line, lessons, judge) for line in transcript.lines]
    return transcript.model_copy(update={"lines": lines})


def _read(line: Line, lessons: Mapping[str, Taught], judge: Judge | None) -> Line:
    repairs: list[Repair] = []
    free_from = 0  # no word is read in two ways
    for first, end, lesson in _known(line.words, lessons):
        if first < free_from:
            continue
        repair = _weighed(line.words, first, end, lesson, judge)
        if repair.probability >= WORTH_SHOWING:
            repairs.append(repair)
        if repair.taken:
            free_from = end
    return read_line(line, repairs)


def _known(
    words: Sequence[Word], lessons: Mapping[str, Taught]
) -> Iterator[tuple[int, int, Taught]]:
    """Stretches of words that a lesson is about, in order, of equal starts the longest first."""
    said = [plain(word.text) if word.read_as is None else "" for word in words]
    longest = max(len(heard.split()) for heard in lessons)
    for first in range(len(said)):
        for end in range(min(first + longest, len(said)), first, -1):
            if all(said[first:end]) and (lesson := lessons.get(" ".join(said[first:end]))):
                yield first, end, lesson


def _weighed(
    words: Sequence[Word], first: int, end: int, lesson: Taught, judge: Judge | None
) -> Repair:
    # Both as plain words: a capital letter or a mark would count for or against what was heard.
    texts = [lesson.heard, lesson.read_as]
    readings = judge.read(words, first, end, texts) if judge else []
    margin = readings[1].total - readings[0].total if readings else None
    weight = load_model("weigh", "repair", "heard").weights["margin"]
    model = Logistic(always=math.log(lesson.times + 1), weights={"margin": weight})
    probability = model.probability({"margin": margin or 0.0})
    return Repair(
        first=first,
        end=end,
        heard=lesson.heard,
        read_as=lesson.read_as,
        role=LEARNED,
        id="",
        probability=round(probability, 3),
        distance=round(distance(lesson.heard, lesson.read_as), 3),
        margin=None if margin is None else round(margin, 2),
        taken=probability >= TAKEN and (margin is None or margin >= REJECTED_NATS),
    )
