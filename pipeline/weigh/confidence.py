"""How sure we are: of a finding, that it is right; of a line, that no flaw told in it was missed.

Each is a fitted probability over clues that stand in the record: one for what a recogniser heard,
one for captions, which carry no probabilities of words, and of which less can be sure.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Literal, NamedTuple

from lexicon.load import Lexicon
from pipeline.logistic import load_model
from pipeline.models import Line, Repair, Statement, Transcript, Word
from pipeline.times import Interval
from pipeline.understand.talk import COMMON_WORDS, NEGATIONS
from pipeline.understand.tokens import pieces
from pipeline.weigh.language import MOST_NATS, NATS, is_word, surprise

Clues = dict[str, float]

_LONG = 10.0
_SURPRISING = 11.0
_SUREST = 0.999  # nothing that was heard is certain
_SENTENCE_ENDS = frozenset(".?!")
_MEASURES = frozenset("inch inches size sized percent half quarter millimeters centimeters".split())


class Names(NamedTuple):
    """The single words for parts, for flaws and for grades that are not ordinary words too."""

    parts: frozenset[str]
    flaws: frozenset[str]
    grades: frozenset[str]


def names(lexicon: Lexicon) -> Names:
    """The names in a lexicon."""
    said = [p for p in lexicon.phrases if not p.weak and " " not in p.text]
    roles = ("part", "defect", "qualifier")
    return Names(*(frozenset(p.text for p in said if p.role == role) for role in roles))


def hardness(transcript: Transcript) -> Clues:
    """How hard the whole recording was to hear, which says something of each of its words."""
    words = [word for line in transcript.lines for word in line.words]
    return {"hard": round(_heard(words).get("doubt", 0.0), 3)}


def finding_clues(statement: Statement, lines: Sequence[Line]) -> Clues:
    """What speaks for and against a statement; `lines` are those it is spoken in."""
    own = [repair for line in lines for repair in repairs_in(line, statement.basis_interval)]
    taken = [repair for repair in own if repair.taken]
    margins = [repair.margin for repair in taken if repair.margin is not None]
    told = statement.interval
    surprises = [n for line in lines for word, n in _surprises(line) if _within(word, told)]
    beside = _heard([word for line in lines for word in line.words])
    return _stated(
        {
            **_heard([word for word in statement.basis if _tells(word)] or statement.basis),
            "worst_beside": beside.get("worst", 0.0),
            "length": min(len(statement.basis) / _LONG, 2.0),
            "misspelt": 1 - statement.closeness,
            "repaired": float(bool(taken)),
            "repair_doubt": 1 - min((repair.probability for repair in taken), default=1.0),
            "unlikely": min(max(surprises, default=0.0), MOST_NATS) / NATS,
            "rival": max((repair.probability for repair in rivals(own)), default=0.0),
            "margin": min(margins, default=0.0),
            "inherited": float(not _names_its_part(statement)),
            "denial": float(any(_denies(word) for line in lines for word in line.words)),
            "doubtful_line": float(any(line.status == "doubtful" for line in lines)),
            **dict.fromkeys(statement.notes, 1.0),
            **statement.clues,
        }
    )


def line_clues(
    line: Line,
    stated: Sequence[Interval],
    clean: Sequence[Interval],
    names: Names,
    read: Mapping[str, float],
) -> Clues:
    """What hints at a flaw in a line that was not understood.

    `stated` are the stretches in which flaws are stated, `clean` those that call a part clean;
    `read` are the clues that the understanding gives.
    """
    spans = [*stated, *clean]
    rest = [word for word in line.words if not any(_within(word, span) for span in spans)]
    untold = set(map(id, rest))
    surprises = [nats for word, nats in _surprises(line) if id(word) in untold]
    texts = [piece for word in rest for piece in pieces(word.read.lower())]
    near = [r.probability for r in rivals(line.repairs)]
    return _stated(
        {
            **_heard([word for word in rest if _tells(word)]),
            "stray_flaw": float(any(text in names.flaws for text in texts)),
            "stray_part": float(any(text in names.parts for text in texts)),
            "stray_grade": float(any(text in names.grades for text in texts)),
            "stray_size": float(not _MEASURES.isdisjoint(texts)),
            "near_miss": max(near, default=0.0),
            "unlikely": sum(nats > _SURPRISING for nats in surprises) / 2,
            "stated": float(bool(stated)),
            "called_clean": float(bool(clean)),
            "denial": float(any(map(_denies, rest))),
            "doubtful_line": float(line.status == "doubtful"),
            **read,
        }
    )


def is_heard(transcript: Transcript) -> bool:
    """Whether a recogniser says how sure it is of the words; captions do not."""
    return any(word.probability is not None for line in transcript.lines for word in line.words)


def sureness(of: Literal["finding", "line"], clues: Clues, heard: bool) -> float:
    """A probability between 0 and 1, by the model fitted on recordings or that on captions."""
    file = "recordings" if heard else "captions"
    return min(round(load_model("weigh", file, of).probability(clues), 3), _SUREST)


def rivals(repairs: Iterable[Repair]) -> list[Repair]:
    """The readings not taken, less those that mean what a taken one of the same words means."""
    repairs = list(repairs)
    taken = [repair for repair in repairs if repair.taken]
    return [
        one
        for one in repairs
        if not one.taken
        and not any((one.role, one.id) == (other.role, other.id) for other in taken)
    ]


def repairs_in(line: Line, spoken: Interval) -> Iterator[Repair]:
    """The repairs of a line, taken or not, of words in some time."""
    for repair in line.repairs:
        if any(_within(word, spoken) for word in line.words[repair.first : repair.end]):
            yield repair


def _surprises(line: Line) -> Iterator[tuple[Word, float]]:
    """A line's words, each with how improbable it is after those before it, in nats."""
    said: list[str] = []
    for word in line.words:
        for piece in filter(is_word, pieces(word.read.lower())):
            said.append(piece)
            yield word, surprise(said)
        if word.text[-1:] in _SENTENCE_ENDS:
            said.clear()


def _within(word: Word, spoken: Interval) -> bool:
    return spoken.start_s <= (word.start_s + word.end_s) / 2 <= spoken.end_s


def _heard(words: Sequence[Word]) -> Clues:
    """How well the recogniser heard some words."""
    known = [word.probability for word in words if word.probability is not None]
    return {"doubt": 1 - sum(known) / len(known), "worst": 1 - min(known)} if known else {}


def _tells(word: Word) -> bool:
    """Whether a word says more than that somebody talks."""
    return any(
        piece not in COMMON_WORDS and piece[0].isalnum() for piece in pieces(word.read.lower())
    )


def _names_its_part(statement: Statement) -> bool:
    """Whether the part is named in the phrase itself, not earlier in the talk."""
    said = (statement.place.part_said or "").split()
    read = " ".join(word.read for word in statement.lead) + f" {statement.read_as}"
    return bool(said) and said[-1] in read.lower()


def _denies(word: Word) -> bool:
    return any(piece in NEGATIONS for piece in pieces(word.read.lower()))


def _stated(clues: Clues) -> Clues:
    """The clues that are not zero, rounded as they stand in the record."""
    return {name: round(value, 3) for name, value in clues.items() if round(value, 3)}
