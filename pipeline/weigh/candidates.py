"""Which words may have been misheard, and what the trade says that sounds like them.

A span is one to four words of a line, one of them at least in doubt: improbable to the recogniser,
or, where no recogniser gave probabilities, neither a term nor ordinary talk. Its candidates are the
lexicon's phrases that sound like it and would make sense there. Each says by numbers, its clues,
how well it fits; `data/repair.toml` says what each clue weighs.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby, pairwise

from spacy.tokens import Doc

from lexicon.expand import Phrase
from lexicon.load import FileText, Lexicon
from pipeline.models import Line, Word
from pipeline.sounds import is_english
from pipeline.understand.hunches import unusual
from pipeline.understand.nlp import pipeline
from pipeline.understand.talk import (
    ARTICLES,
    COMMON_WORDS,
    DETERMINERS,
    HAVING,
    NEGATIONS,
    PREPOSITIONS,
)
from pipeline.understand.terms import Item
from pipeline.understand.tokens import Origin, build_doc, pieces
from pipeline.weigh.language import END, MOST_NATS, NATS, Row, is_word, log_probability
from pipeline.weigh.sound_index import SoundIndex, spoken

ROLES = ("part", "defect", "qualifier", "side", "position")

_MOST_WORDS = 4
_SURE, _SURE_IN_TERM = 0.95, 0.7  # a word at least so probable is not in doubt
_SAME_SOUND = 0.01
_WITHIN = 0.18  # of sound; nothing farther was ever right
_PER_SPAN = 4
_IS = "'s"
_PAUSES = frozenset(".,?!;:")
_REACH = 8  # tokens before and after in which a phrase's partner is looked for
_LONGEST = 12  # phones; a longer phrase is no more telling
# What else a sentence needs for a phrase of that role to make sense.
_PARTNERS: Mapping[str, frozenset[str]] = {
    "part": frozenset(("defect", "no_damage", "damage")),
    "defect": frozenset(("part",)),
    "qualifier": frozenset(("defect",)),
    "side": frozenset(("part",)),
    "position": frozenset(("part",)),
}


@dataclass(frozen=True)
class Candidate:
    """A phrase that words `first` to `end` (exclusive) of a line may stand for, and its clues.

    `spellings` are other ways to write what was heard: "tail light" for "taillight". `ending` is
    what of the last word is not the phrase's: "bumper's" for "mumper's".
    """

    line: int
    first: int
    end: int
    heard: str
    phrase: Phrase
    clues: dict[str, float]
    spellings: tuple[str, ...] = ()
    ending: str = ""

    @property
    def read_as(self) -> str:
        """What the words are read as."""
        return self.phrase.text + self.ending


@dataclass(frozen=True)
class _Spot:
    """A word of the transcript, its line and its place there, and its tokens in the Doc."""

    line: int
    at: int
    word: Word
    tokens: range


class _Sentence:
    """A sentence's words and items, and what a reader expects at a place in it."""

    def __init__(self, doc: Doc, bounds: range, items: Sequence[Item]) -> None:
        self.bounds = bounds
        self.lower: list[str] = doc._.lower
        self.spots = _spots(doc._.origin, doc._.lines, bounds)
        self.items = [item for item in items if item.role != "word"]
        self._owner = {at: item for item in self.items for at in range(item.start, item.end)}

    def is_odd(self, token: int) -> bool:
        """Whether a token is neither a term's nor ordinary talk."""
        lower = self.lower[token]
        return token not in self._owner and lower not in COMMON_WORDS and lower.isalpha()

    def in_doubt(self, spot: _Spot) -> bool:
        """Whether a word may be another; one that has been read otherwise already is settled."""
        if spot.word.read_as is not None:
            return False
        probability = spot.word.probability
        if probability is None:
            return any(map(self.is_odd, spot.tokens))
        in_term = all(token in self._owner for token in spot.tokens)
        return probability < (_SURE_IN_TERM if in_term else _SURE)

    def inside(self, tokens: range) -> list[Item] | None:
        """The items within some tokens; None where one reaches out of them."""
        found = {id(item): item for at in tokens if (item := self._owner.get(at)) is not None}
        whole = all(tokens.start <= i.start and i.end <= tokens.stop for i in found.values())
        return list(found.values()) if whole else None

    def expects(self, tokens: range, role: str) -> bool:
        """Whether the words beside some tokens call for a phrase of a role."""
        lower = self.lower
        before = lower[tokens.start - 1] if tokens.start > self.bounds.start else ""
        after = lower[tokens.stop] if tokens.stop < self.bounds.stop else ""
        left, right = self._role(tokens.start - 1), self._role(tokens.stop)
        if role == "part":
            opens = (
                before in DETERMINERS or before in ("", ",", "on") or left in ("side", "position")
            )
            goes_on = after in HAVING or after in PREPOSITIONS or after in _PAUSES or not after
            return opens and (goes_on or right in ("defect", "side", "no_damage", "qualifier"))
        if role == "defect":
            told = before in HAVING or before in ARTICLES or before == ","
            return told or left in ("qualifier", "part") or after in PREPOSITIONS
        if role == "qualifier":
            return "defect" in (left, right) or not after
        return "part" in (left, right) or after in ("side", "one")

    def row(self, tokens: range) -> Row:
        """The words of some tokens, and those before and after them in the sentence."""
        lower, bounds = self.lower, self.bounds
        cuts = (bounds.start, tokens.start, tokens.stop, bounds.stop)
        before, own, after = (list(filter(is_word, lower[a:b])) for a, b in pairwise(cuts))
        return Row(before, own, [*after, END])

    def usual(self, tokens: range, phrase: Phrase) -> float:
        """How usual the flaws near some tokens are on a part, or a flaw on the parts near."""
        near = range(tokens.start - _REACH, tokens.stop + _REACH)
        beside = [i for i in self.items if i.start in near and i.start not in tokens]
        if phrase.role == "part":
            told = [unusual(phrase.id, i.id) for i in beside if i.role == "defect"]
        elif phrase.role == "defect":
            told = [unusual(i.id, phrase.id) for i in beside if i.role == "part"]
        else:
            told = []
        return 1 - min(told, default=1.0)

    def _role(self, token: int) -> str | None:
        item = self._owner.get(token) if token in self.bounds else None
        return item.role if item else None


def candidates(
    lines: Sequence[Line], lexicon: Lexicon, extra: FileText | None = None
) -> Iterator[list[Candidate]]:
    """The candidates of each sentence that has any; `extra` is the shop's own lexicon file."""
    nlp = pipeline(lexicon.kind, extra)
    doc = build_doc(nlp.vocab, lines, lexicon)
    for name in ("sentences", "terms", "amounts"):
        doc = nlp.get_pipe(name)(doc)
    index = sound_index(lexicon)
    for bounds, items in zip(doc._.sentences, doc._.items, strict=True):
        found = list(_of_sentence(_Sentence(doc, bounds, items), index, lexicon))
        if found:
            yield found


def _of_sentence(sentence: _Sentence, index: SoundIndex, lexicon: Lexicon) -> Iterator[Candidate]:
    if not sentence.items:
        return  # chatter: nothing here is about the machine
    spots = sentence.spots
    doubts = [sentence.in_doubt(spot) for spot in spots]
    for first in range(len(spots)):
        for end in range(first + 1, min(first + _MOST_WORDS, len(spots)) + 1):
            span = spots[first:end]
            if span[-1].line != span[0].line or span[-1].word.read_as is not None:
                break
            if any(doubts[first:end]):
                yield from _of_span(sentence, span, index, lexicon)
            if span[-1].word.text[-1:] in _PAUSES:
                break


def _of_span(
    sentence: _Sentence, span: Sequence[_Spot], index: SoundIndex, lexicon: Lexicon
) -> Iterator[Candidate]:
    heard = " ".join(plain(spot.word.text) for spot in span)
    sounding = _sounding(heard, index) if all(map(_is_spoken, heard.split())) else []
    if not sounding:
        return
    tokens = range(span[0].tokens.start, span[-1].tokens.stop)
    if not NEGATIONS.isdisjoint(sentence.lower[tokens.start : tokens.stop]):
        return  # what is denied stays denied
    inside = sentence.inside(tokens)
    if inside is None:
        return
    same = {(item.role, item.id) for item in inside}
    placed = {item.role for item in inside} & {"side", "position"}
    near = range(tokens.start - _REACH, tokens.stop + _REACH)
    rest = {item.role for item in sentence.items if item.start in near and item.start not in tokens}
    if not rest:
        return
    spellings = tuple(
        phrase.text + ending
        for phrase, far, ending in sounding
        if far < _SAME_SOUND and (phrase.role, phrase.id) in same
    )
    row = sentence.row(tokens)
    heard_so = max([log_probability(row), *(_probable(row, text) for text in spellings)])
    seen = set(same)
    for phrase, far, ending in sounding:
        meaning = (phrase.role, phrase.id)
        if phrase.role in placed or meaning in seen or phrase.text == heard:
            continue
        fit = _fit(sentence, tokens, rest, phrase.role)
        if not fit["context"] and not fit["fitting"]:
            continue
        seen.add(meaning)
        yield Candidate(
            line=span[0].line,
            first=span[0].at,
            end=span[-1].at + 1,
            heard=heard,
            phrase=phrase,
            clues={
                **_about(sentence, span, tokens, inside, heard),
                **fit,
                "usual": sentence.usual(tokens, phrase),
                "likelier": _likelier(row, _written(phrase, sounding), heard_so),
                f"as_{phrase.role}": 1.0,
                "distance": far,
                "homophone": float(far < _SAME_SOUND),
                "length": min(len(spoken(phrase.text)), _LONGEST) / _LONGEST,
                "wanted": float(phrase.text in lexicon.hotwords),
            },
            spellings=spellings,
            ending=ending,
        )
        if len(seen) - len(same) >= _PER_SPAN:
            return


def _likelier(row: Row, texts: Iterable[str], heard_so: float) -> float:
    """By how much a reading, in its likeliest spelling, is likelier than what was heard there."""
    read_so = max(_probable(row, text) for text in texts)
    return max(-MOST_NATS, min(read_so - heard_so, MOST_NATS)) / NATS


def _probable(row: Row, text: str) -> float:
    """How probable a text is between the words beside a row, in nats."""
    return log_probability(row._replace(words=list(filter(is_word, pieces(text)))))


def _written(phrase: Phrase, sounding: Iterable[tuple[Phrase, float, str]]) -> Iterator[str]:
    """The ways to write what sounds like a phrase and means the same: "bellypan", "belly pan"."""
    meaning, sound = (phrase.role, phrase.id), spoken(phrase.text)
    for other, _, ending in sounding:
        if (other.role, other.id) == meaning and spoken(other.text) == sound:
            yield other.text + ending


def _sounding(heard: str, index: SoundIndex) -> list[tuple[Phrase, float, str]]:
    """The phrases that sound like some words, how nearly, and what of the words is not theirs.

    A part before "'s" is one part that is or has something ("the mumper's bent"), not several.
    """
    stem, owned = heard.removesuffix(_IS), heard.endswith(_IS)
    whole = [
        (near.phrase, near.distance, "")
        for near in index.near(heard, _WITHIN)
        if not (owned and near.phrase.role == "part")
    ]
    if not owned:
        return whole
    one = [
        (near.phrase, near.distance, _IS)
        for near in index.near(stem, _WITHIN)
        if near.phrase.role == "part" and not near.phrase.plural
    ]
    return sorted([*whole, *one], key=lambda found: found[1])


def _fit(sentence: _Sentence, tokens: range, rest: set[str], role: str) -> dict[str, float]:
    """How a phrase of a role would fit a sentence that else has items of the roles `rest`."""
    lacks = float(role not in rest)
    partner = float(bool(rest & _PARTNERS[role]))
    context = float(sentence.expects(tokens, role))
    return {
        "lacks": lacks,
        "partner": partner,
        "fitting": lacks * partner,
        "context": context,
        "called_for": lacks * context,
    }


def _about(
    sentence: _Sentence, span: Sequence[_Spot], tokens: range, inside: Sequence[Item], heard: str
) -> dict[str, float]:
    """What is known of the words themselves, whatever they are read as."""
    known = [p for spot in span if (p := spot.word.probability) is not None]
    return {
        "lost_terms": float(sum(item.role in ("part", "defect") for item in inside)),
        "lost_places": float(sum(item.role not in ("part", "defect") for item in inside)),
        "odd": sum(map(sentence.is_odd, tokens)) / len(tokens),
        "english": float(all(map(is_english, heard.split()))),
        "several": float(len(span) > 1),
        "many": float(len(span) > 2),
        "doubt": 1 - sum(known) / len(known) if known else 0.0,
        "least": min(known) if known else 0.0,
    }


@lru_cache(maxsize=50_000)
def plain(text: str) -> str:
    """A word as it sounds: lower case, without marks ("Light's," is "light's")."""
    return " ".join(filter(is_word, pieces(text.lower()))).replace(" '", "'")


def _is_spoken(word: str) -> bool:
    """Whether a word is written as it sounds, not in digits."""
    return not any(letter.isdigit() for letter in word)


def _spots(origin: Sequence[Origin], lines: Sequence[Line], bounds: range) -> list[_Spot]:
    """The words of the transcript that tokens come from."""
    spots: list[_Spot] = []
    for place, tokens in groupby(bounds, key=origin.__getitem__):
        run = list(tokens)
        word = lines[place.line].words[place.word]
        spots.append(_Spot(place.line, place.word, word, range(run[0], run[-1] + 1)))
    return spots


_INDEXES: dict[str, SoundIndex] = {}


def sound_index(lexicon: Lexicon) -> SoundIndex:
    """The index of a lexicon's phrases for parts, flaws, grades and places; made once for each."""
    key = f"{lexicon.kind} {lexicon.version} {lexicon.shop}"
    if key not in _INDEXES:
        _INDEXES[key] = SoundIndex(
            phrase
            for phrase in lexicon.phrases
            if phrase.role in ROLES and not phrase.weak and _is_said(phrase.text)
        )
    return _INDEXES[key]


@lru_cache(maxsize=50_000)
def _is_said(text: str) -> bool:
    """Whether a phrase is said as it is written, no word of it letter by letter ("lh side")."""
    return all(set(word) & set("aeiouy") for word in text.split())
