"""The talk as one spaCy Doc, each token knowing the word of the transcript that it came from.

    Line(Word) ─► Doc: tokens, `doc._.origin` (line and word of each token), `doc._.sentences`

A Doc is the whole walkaround, since a speaker refers back over many lines. Hyphens split words
("two-inch" is two tokens), contractions stay whole ("there's"), punctuation is its own token.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from spacy.language import Language
from spacy.tokens import Doc
from spacy.vocab import Vocab

from lexicon.load import Lexicon
from pipeline.models import Line
from pipeline.understand.fluency import fluent
from pipeline.understand.homophones import meant

# Half a character (a lone surrogate) is passed over, since a Doc takes none.
_PIECE = re.compile(
    r"\d+(?:[.,/]\d+)*|[^\W\d_]+(?:['’][^\W\d_]+)*|[^\s\w\ud800-\udfff]|_", re.UNICODE
)
_WHOLE = frozenset(
    ("it's", "there's", "that's", "here's", "he's", "she's", "what's", "who's", "where's", "let's",
     "how's")
)  # fmt: skip
_SENTENCE_END = frozenset(".?!")
# Sentences that begin so go on from the one before, and so do those of such words alone.
_GOING_ON = frozenset(("whose", "because"))
_GOING_ON_WITH = frozenset(("which", verb) for verb in ("is", "are", "has", "have", "was", "had"))
_SIZING = frozenset(
    "inch inches foot feet mm millimeter millimeters millimetre millimetres centimeter centimeters "
    "centimetre centimetres percent dime quarter nickel penny card ball length size".split()
)
_SIZE_WORDS = _SIZING | frozenset(
    "a an the of about maybe roughly some good solid full or so let me see call it i'd say long "
    "wide across and half credit golf one two three four five six seven eight nine ten eleven "
    "twelve twenty thirty forty fifty sixty seventy eighty ninety hundred quarters to like".split()
)
_LONGEST_SIZE = 9
# "..., come round back": what a sentence has told by then is told.
_MOVING = frozenset(("come", "comin", "coming", "walk", "walking", "moving", "step", "stepping"))
_WHITHER = frozenset(("around", "round", "over", "to", "on", "back"))
_MAX_SENTENCE_GAP_S = 2.5
_MAX_SENTENCE_TOKENS = 200  # beyond any breath; the work on a sentence grows with its square


@dataclass(frozen=True, slots=True)
class Origin:
    """The place of a token in the transcript: indexes of its line and of its word in that line."""

    line: int
    word: int


def pieces(text: str) -> list[str]:
    """The tokens of a text; also how lexicon phrases are cut, so that both always agree.

    >>> pieces("It's a two-inch scratch, the tank's bent.")
    ["It's", 'a', 'two', 'inch', 'scratch', ',', 'the', 'tank', "'s", 'bent', '.']
    """
    return list(_cut(text))


@lru_cache(maxsize=50_000)
def _cut(text: str) -> tuple[str, ...]:
    cut: list[str] = []
    for piece in _PIECE.findall(text):
        if piece == "-":
            continue
        plain = piece.replace("’", "'")
        if plain == "'" and cut and cut[-1].lower().endswith("in") and _joined(text, cut[-1]):
            cut[-1] += "g"  # "nothin' wrong"
            continue
        if plain[-2:].lower() == "'s" and plain.lower() not in _WHOLE:
            cut += [plain[:-2], plain[-2:]]
        else:
            cut.append(plain)
    return tuple(cut)


def _joined(text: str, word: str) -> bool:
    """Whether an apostrophe ends a word that lost its last letter: "kickin'"."""
    return len(word) > 3 and f"{word}'" in text.replace("’", "'")


def build_doc(vocab: Vocab, lines: Sequence[Line], lexicon: Lexicon) -> Doc:
    """One Doc of what each word of the lines is read as; lines of status `unheard` give none."""
    words: list[str] = []
    origin: list[Origin] = []
    for line_index, line in enumerate(lines):
        if line.status == "unheard":
            continue
        for word_index, word in enumerate(line.words):
            cut = _cut(word.read)
            words.extend(cut)
            origin.extend([Origin(line_index, word_index)] * len(cut))
    kept = list(fluent([word.lower() for word in words]))
    words, origin = [words[i] for i in kept], [origin[i] for i in kept]
    others = meant([word.lower() for word in words])
    respelled = [other or (word,) for word, other in zip(words, others, strict=True)]
    origin = [own for own, texts in zip(origin, respelled, strict=True) for _ in texts]
    words = [text for texts in respelled for text in texts]
    doc = Doc(vocab, words=words)
    doc._.lexicon = lexicon
    doc._.lines = list(lines)
    doc._.origin = origin
    doc._.texts = words
    doc._.lower = [word.lower() for word in words]
    return doc


@Language.component("sentences", assigns=["doc._.sentences"])
def sentences(doc: Doc) -> Doc:
    """Cuts the Doc into sentences, as ranges of tokens.

    Recognised lines are cut at pauses, often inside a sentence, so a line end alone says little
    where the talk is punctuated; where punctuation is missing it is all there is. Recognisers also
    end sentences at pauses: what only goes on from the one before ("A good two inches.", "Whose
    paint is peeling.") belongs to that.
    """
    lower, lines = doc._.lower, doc._.lines
    of_line = [origin.line for origin in doc._.origin]
    punctuated = {of_line[i] for i, word in enumerate(lower) if word in _SENTENCE_END}
    bounds: list[range] = []
    start = 0
    for index, word in enumerate(lower):
        ends = word in _SENTENCE_END or index + 1 == len(lower)
        ends = ends or index + 1 - start == _MAX_SENTENCE_TOKENS
        ends = ends or (word == "," and _moves_on(lower[index + 1 : index + 3]))
        if not ends and of_line[index] != of_line[index + 1]:
            here, there = of_line[index], of_line[index + 1]
            gap_s = lines[there].start_s - lines[here].end_s
            ends = gap_s > _MAX_SENTENCE_GAP_S or punctuated.isdisjoint(range(here - 2, here + 3))
        if ends:
            own = range(start, index + 1)
            if bounds and _goes_on(lower[start : index + 1]):
                own = range(bounds.pop().start, own.stop)
            bounds.append(own)
            start = index + 1
    doc._.sentences = bounds
    return doc


def _moves_on(words: Sequence[str]) -> bool:
    """Whether the speaker moves: "..., come round to the back" places nothing told before."""
    return len(words) > 1 and words[0] in _MOVING and words[1] in _WHITHER


def _goes_on(sentence: Sequence[str]) -> bool:
    """Whether a sentence is only a size, or a clause about the thing named last."""
    if sentence[0] in _GOING_ON or tuple(sentence[:2]) in _GOING_ON_WITH:
        return True
    said = [word for word in sentence if word[0].isalnum()]
    return (
        len(said) <= _LONGEST_SIZE
        and not _SIZING.isdisjoint(said)
        and all(word in _SIZE_WORDS or word[0].isdigit() for word in said)
    )


# What the components hand on, in the order in which they assign it.
for _name in (
    "lexicon",
    "lines",
    "origin",
    "texts",
    "lower",
    "sentences",
    "items",
    "mood",
    "said",
    "hunches",
):
    if not Doc.has_extension(_name):
        Doc.set_extension(_name, default=None)
