"""When the things of a truth are said, and a transcript that hears every word of it."""

from itertools import accumulate

from pipeline.errors import TruthError
from pipeline.models import Line, Transcript, Word
from pipeline.score.truth import Say, TrueFinding, Truth
from pipeline.times import Interval

WORD_S = 0.3  # a made-up pace, three words and a third a second


def when(said: Say | TrueFinding) -> Interval:
    """When a sentence or flaw is spoken. Raises TruthError where it has no times."""
    if said.start_s is None or said.end_s is None:
        raise TruthError("the truth has no times; score against the .json beside the recording")
    return Interval(start_s=said.start_s, end_s=said.end_s)


def noise(truth: Truth) -> list[Interval]:
    """The stretches with nothing but noise in them, which come before a sentence or alone."""
    stretches = []
    for say in truth.say:
        if say.noise_s:
            start_s = when(say).start_s - (say.noise_s if say.text else 0.0)
            stretches.append(Interval(start_s=start_s, end_s=start_s + say.noise_s))
    return stretches


def timed(truth: Truth) -> Truth:
    """The truth with a time for every flaw; where none is known, as at an even pace of words.

    Raises TruthError where a sentence has no times.
    """
    return truth.model_copy(update={"say": [_timed(say) for say in truth.say]})


def at_steady_pace(truth: Truth) -> Truth:
    """The truth with times as of a speaker who takes as long over every word."""
    lengths = [say.noise_s + WORD_S * len(say.text.split()) + say.pause_s for say in truth.say]
    says = []
    for say, start_s in zip(truth.say, accumulate(lengths, initial=0.0), strict=False):
        first_s = start_s + (say.noise_s if say.text else 0.0)
        end_s = start_s + say.noise_s + WORD_S * len(say.text.split())
        says.append(say.model_copy(update={"start_s": first_s, "end_s": end_s}))
    return timed(truth.model_copy(update={"say": says, "duration_s": sum(lengths)}))


def exact_transcript(truth: Truth) -> Transcript:
    """What a recogniser without fault would hear: each sentence a line, its words evenly spaced."""
    spoken = [say for say in truth.say if say.text]
    lines = [_line(f"L{number:03}", say) for number, say in enumerate(spoken, 1)]
    return Transcript(
        origin="plain_text",
        lines=lines,
        duration_s=truth.duration_s or max((line.end_s for line in lines), default=0.0),
    )


def _timed(say: Say) -> Say:
    spoken = when(say)
    findings = [
        flaw
        if flaw.start_s is not None
        else flaw.model_copy(update=_times(say.text, flaw.phrase, spoken))
        for flaw in say.findings
    ]
    return say.model_copy(update={"findings": findings})


def _times(text: str, phrase: str, spoken: Interval) -> dict[str, float]:
    """When a phrase of a sentence is spoken, with a word's time spread over all its words."""
    before = len(text[: text.index(phrase)].split())
    length_s = spoken.duration_s / len(text.split())
    start_s = spoken.start_s + length_s * before
    return {"start_s": start_s, "end_s": start_s + length_s * len(phrase.split())}


def _line(line_id: str, say: Say) -> Line:
    spoken = when(say)
    words = say.text.split()
    length_s = spoken.duration_s / len(words)
    return Line(
        id=line_id,
        start_s=spoken.start_s,
        end_s=spoken.end_s,
        text=say.text,
        words=[
            Word(
                text=word,
                start_s=spoken.start_s + i * length_s,
                end_s=spoken.start_s + (i + 1) * length_s,
            )
            for i, word in enumerate(words)
        ],
    )
