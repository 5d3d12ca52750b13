"""From timed words to lines, and which lines are not to be taken as speech. Pure functions."""

import math
import re
import statistics
import zlib
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from pipeline.models import Line, LineStatus, Word
from pipeline.times import Interval

# --- word times ---------------------------------------------------------------------------------

_SHORTEST_WORD_S = 0.04
_LONGEST_S = 0.5  # of any word, plus:
_LONGEST_PER_LETTER_S = 0.09
_VOICE_SLACK_S = 0.1  # the detector's edges are no sharper
_TOUCHED_S = 0.02  # a smaller change is rounding, not repair
_BESIDE_S = 0.2  # voice this near to a word belongs to it: word times are no sharper


def repair_times(words: Sequence[Word], voiced: Sequence[Interval] = ()) -> list[Word]:
    """The words with believable times: in order, of bounded length, and where a voice is heard.

    A word stretched over a pause keeps the part of it in which a voice is heard. Changed words are
    marked `repaired_time`. The order of the words is kept; `voiced` must be in time order.
    """
    repaired: list[Word] = []
    floor_s = 0.0
    for word in words:
        longest_s = _LONGEST_S + _LONGEST_PER_LETTER_S * len(word.text)
        start_s, end_s = _snapped(word, voiced, floor_s)
        if end_s - start_s > longest_s:
            # After a pause it is the beginning that is stretched, else the end.
            after_pause = bool(repaired) and word.start_s - floor_s < _VOICE_SLACK_S
            start_s, end_s = (
                (start_s, start_s + longest_s) if after_pause else (end_s - longest_s, end_s)
            )
        start_s = round(max(start_s, floor_s), 3)
        end_s = round(max(end_s, start_s + _SHORTEST_WORD_S), 3)
        touched = max(abs(start_s - word.start_s), abs(end_s - word.end_s)) > _TOUCHED_S
        repaired.append(
            word.model_copy(
                update={
                    "start_s": start_s,
                    "end_s": end_s,
                    "repaired_time": word.repaired_time or touched,
                }
            )
        )
        floor_s = end_s
    return repaired


def _snapped(word: Word, voiced: Sequence[Interval], floor_s: float) -> tuple[float, float]:
    """The word, from `floor_s` on, cut to the voiced stretch that it shares most with."""
    start_s = max(word.start_s, floor_s)
    end_s = max(start_s, word.end_s)
    span = Interval(start_s=start_s, end_s=end_s)
    best = max(_within(voiced, span), key=span.overlap_s, default=None)
    if best is None:
        return start_s, end_s
    return (
        max(start_s, best.start_s - _VOICE_SLACK_S),
        min(end_s, best.end_s + _VOICE_SLACK_S),
    )


def _within(voiced: Sequence[Interval], span: Interval) -> Sequence[Interval]:
    """Those of the voiced stretches, in time order, that share time with a span."""
    first = bisect_right(voiced, span.start_s, key=lambda stretch: stretch.end_s)
    last = bisect_left(voiced, span.end_s, key=lambda stretch: stretch.start_s)
    return voiced[first:last]


def uncovered(
    voiced: Sequence[Interval], words: Sequence[Word], at_least_s: float
) -> list[Interval]:
    """Parts of the voiced stretches, of that length or more, that no word covers.

    Words and stretches must be in time order.
    """
    gaps: list[Interval] = []
    for stretch in voiced:
        at_s = stretch.start_s
        first = bisect_right(words, at_s - _BESIDE_S, key=lambda word: word.end_s)
        last = bisect_left(words, stretch.end_s + _BESIDE_S, key=lambda word: word.start_s)
        for word in words[first:last]:
            if word.start_s - _BESIDE_S > at_s:
                gaps.append(Interval(start_s=at_s, end_s=word.start_s - _BESIDE_S))
            at_s = max(at_s, word.end_s + _BESIDE_S)
        if at_s < stretch.end_s:
            gaps.append(Interval(start_s=at_s, end_s=stretch.end_s))
    return [gap for gap in gaps if gap.duration_s >= at_least_s]


# --- lines --------------------------------------------------------------------------------------

_PAUSE_S = 0.8
_LONGEST_LINE_S = 15.0
_MOST_WORDS = 40
_SENTENCE_END = re.compile(r"[.?!][\"')\]]*$")
UNHEARD_TEXT = "[not understood]"


def build_lines(words: Sequence[Word], unheard: Sequence[Interval] = ()) -> list[Line]:
    """Lines L001, L002 ... in time order: cut at pauses, then at sentence ends, of bounded length.

    Words must be in time order. Each interval of `unheard` becomes a line without words, of status
    `unheard` and with the flag `speech_not_transcribed`.
    """
    drafts = [line_of(part) for group in sentences(words, _PAUSE_S) for part in _bounded(group)]
    drafts += [
        Line(
            id="",
            start_s=round(interval.start_s, 3),
            end_s=round(interval.end_s, 3),
            text=UNHEARD_TEXT,
            status="unheard",
            flags=["speech_not_transcribed"],
        )
        for interval in unheard
    ]
    return numbered(drafts)


def numbered(lines: Iterable[Line]) -> list[Line]:
    """The lines in time order, named L001, L002 and so on."""
    ordered = sorted(lines, key=lambda line: (line.start_s, line.end_s))
    return [
        line.model_copy(update={"id": f"L{number:03}"}) for number, line in enumerate(ordered, 1)
    ]


def line_of(words: Sequence[Word]) -> Line:
    """The words as one line, as yet without an id."""
    return Line(
        id="",
        start_s=words[0].start_s,
        end_s=words[-1].end_s,
        text=" ".join(word.text for word in words),
        words=list(words),
    )


def sentences(words: Iterable[Word], pause_s: float = math.inf) -> list[list[Word]]:
    """The words cut after each sentence end, and before each word that follows such a pause."""
    groups: list[list[Word]] = []
    for word in words:
        last = groups[-1][-1] if groups else None
        if last is None or word.start_s - last.end_s >= pause_s or _SENTENCE_END.search(last.text):
            groups.append([])
        groups[-1].append(word)
    return groups


def _bounded(words: list[Word]) -> list[list[Word]]:
    """The group, halved at its longest pause for as long as it is too long for one line."""
    if len(words) <= _MOST_WORDS and words[-1].end_s - words[0].start_s <= _LONGEST_LINE_S:
        return [words]
    if len(words) == 1:
        return [words]
    gaps_s = [after.start_s - before.end_s for before, after in pairwise(words)]
    middle = len(words) / 2
    at = max(range(1, len(words)), key=lambda i: (round(gaps_s[i - 1], 1), -abs(i - middle)))
    return [*_bounded(words[:at]), *_bounded(words[at:])]


# --- what is not to be taken as speech ----------------------------------------------------------

# Pace: mean speech is 2.4 words a second, bursts reach 3.8 (Jensema 1996 and 1998; live
# television). Whoever rattles off small words was heard well at up to 5.9 (ten of 1,940 lines of
# brisk voices); above this nobody was.
_FASTEST_EVER_WPS = 7.0
_PACE_FROM_WORDS = 4  # one or two words have no pace
# Text that packs this well repeats itself (the recogniser's own published limit); short text
# never packs well.
_COMPRESSION_LIMIT = 2.4
_COMPRESSION_FROM_LETTERS = 80
_LOOP_REPEATS = 4
_LOW_PROBABILITY = 0.5
_LITTLE_VOICE = 0.3
_ECHO_FROM_WORDS = 3
_ECHO_SHARE = 0.8

_STOCK = re.compile(
    r"\b(thanks? (you )?(so much )?for (watching|viewing|listening)|(please )?(like and )?subscribe"
    r"|see you (in the )?next (time|video|one)|subtitles? by|captions? by|transcri(bed|ption) by"
    r"|copyright|all rights reserved|www\.\S+)\b",
    re.IGNORECASE,
)
_FOREIGN = re.compile(r"[^\W\d_a-zA-Z\u00c0-\u024f]")
_SPELLING = (
    "zero oh one two three four five six seven eight nine niner alfa alpha bravo charlie delta "
    "echo foxtrot golf hotel india juliett juliet kilo lima mike november oscar papa quebec romeo "
    "sierra tango uniform victor whiskey whisky x-ray xray yankee zulu adam boy charles david "
    "edward frank george henry ida john king lincoln mary nora ocean paul queen robert sam tom "
    "union william young zebra as in double triple dash"
)
_SPELLING_WORDS = frozenset(_SPELLING.split())


@dataclass(frozen=True)
class _Context:
    """What a detector may look at beside the line; see `flag_lines`."""

    voiced: Sequence[Interval] | None
    hotwords: Sequence[str]
    clock_step_s: float


def flag_lines(
    lines: Iterable[Line],
    voiced: Sequence[Interval] | None = None,
    hotwords: Sequence[str] = (),
    clock_step_s: float = 0.0,
) -> list[Line]:
    """The lines with flags for text that was hardly spoken, and the status that follows.

    `voiced` is None where there is no sound to compare with (imported captions). `hotwords` are
    those the recogniser was given, in that order. `clock_step_s` is how coarse the lines' times
    are, so that rounding makes nobody talk too fast. Lines of status `unheard` stay as they are.
    """
    context = _Context(voiced, hotwords, clock_step_s)
    return [_flagged(line, context) for line in lines]


def _flagged(line: Line, context: _Context) -> Line:
    if line.status == "unheard":
        return line
    found = [(code, status) for code, status, applies in _DETECTORS if applies(line, context)]
    worst: LineStatus = line.status
    for status in ("doubtful", "unheard"):
        if any(status == of for _, of in found):
            worst = status
    return line.model_copy(
        update={"flags": [*line.flags, *(code for code, _ in found)], "status": worst}
    )


def _tokens(text: str) -> list[str]:
    return re.findall(r"[\w'-]+", text.lower())


def _plain_words(line: Line) -> list[str]:
    """The line's words without digits and spelling words, which run fast and repeat by nature."""
    return [
        token
        for token in _tokens(line.text)
        if len(token) > 1 and not token.isdigit() and token not in _SPELLING_WORDS
    ]


def _loops(line: Line, _: _Context) -> bool:
    """The same one to eight words again and again, or text that packs as only repeats do."""
    words = _plain_words(line)
    for size in range(1, 9):
        run = 0
        for at in range(size, len(words)):
            run = run + 1 if words[at] == words[at - size] else 0
            if run >= size * (_LOOP_REPEATS - 1):
                return True
    text = " ".join(words).encode()
    return (
        len(text) >= _COMPRESSION_FROM_LETTERS
        and len(text) / len(zlib.compress(text)) > _COMPRESSION_LIMIT
    )


def _too_fast(line: Line, context: _Context) -> bool:
    words = _plain_words(line)
    length_s = max(line.end_s - line.start_s + context.clock_step_s, 0.01)
    return len(words) >= _PACE_FROM_WORDS and len(words) / length_s > _FASTEST_EVER_WPS


def _voice_share(line: Line, voiced: Sequence[Interval]) -> float:
    """The share of the line's words' time in which a voice is heard."""
    spans = [Interval(start_s=word.start_s, end_s=word.end_s) for word in line.words]
    total_s = sum(span.duration_s for span in spans)
    heard_s = sum(span.overlap_s(stretch) for span in spans for stretch in _within(voiced, span))
    return heard_s / total_s if total_s else 0.0


def _without_voice(line: Line, context: _Context) -> bool:
    return context.voiced is not None and _voice_share(line, context.voiced) < _LITTLE_VOICE


def _mean_probability(line: Line) -> float | None:
    known = [word.probability for word in line.words if word.probability is not None]
    return statistics.fmean(known) if known else None


def _improbable(line: Line, _: _Context) -> bool:
    mean = _mean_probability(line)
    return mean is not None and mean < _LOW_PROBABILITY


def _stock(line: Line, context: _Context) -> bool:
    """A sign-off that recognisers write over silence; a spoken one is voiced and probable."""
    if not _STOCK.search(line.text):
        return False
    return _without_voice(line, context) or _improbable(line, context)


def _foreign(line: Line, _: _Context) -> bool:
    return _FOREIGN.search(line.text) is not None


def _echoes(line: Line, context: _Context) -> bool:
    """Mostly hot words, in the order in which the recogniser was given them."""
    said = _tokens(line.text)
    given = [token for word in context.hotwords for token in _tokens(word)]
    if len(said) < _ECHO_FROM_WORDS or not given:
        return False
    following = Counter(pairwise(given))
    echoed = sum(1 for pair in pairwise(said) if pair in following)
    return echoed >= _ECHO_SHARE * (len(said) - 1)


_DETECTORS: tuple[tuple[str, LineStatus, Callable[[Line, _Context], bool]], ...] = (
    ("repetition_loop", "unheard", _loops),
    ("impossible_rate", "unheard", _too_fast),
    ("foreign_script", "unheard", _foreign),
    ("no_voice", "unheard", _without_voice),
    ("stock_phrase", "unheard", _stock),
    ("hotword_echo", "doubtful", _echoes),
    ("low_probability", "doubtful", _improbable),
)
