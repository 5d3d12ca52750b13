"""Finds the lexicon's phrases in the talk, and lays out each sentence as a row of items.

Longest phrase first; at equal length a part beats a flaw, a flaw a place, and so on. A word that is
in no phrase but one slip away from a lexicon word is read as that word ("scatches"), and its
closeness says so.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from rapidfuzz.distance import OSA
from rapidfuzz.process import extract
from spacy.language import Language
from spacy.matcher import PhraseMatcher
from spacy.tokens import Doc
from spacy.vocab import Vocab

from lexicon.expand import Phrase
from lexicon.load import FileText, Lexicon, load_lexicon
from pipeline.sounds import is_english
from pipeline.understand.talk import COMMON_WORDS, IDIOMS, PREPOSITIONS
from pipeline.understand.tokens import pieces

# Which role wins where two phrases cover the same words.
_PRECEDENCE = (
    "idiom", "part", "defect", "no_damage", "side", "position", "qualifier", "detail", "damage",
)  # fmt: skip
_SHORTEST_REPAIRED_WORD = 6
_COUNTING = frozenset(("a", "an", "the", "some", "one", "another", "small", "little", "tiny"))
_CLAUSE_STARTS = frozenset((".", ",", ";", ":", "and", "but"))
_VERBS = frozenset(
    ("is", "are", "'s", "has", "have", "was", "were", "look", "looks", "work", "works")
)
_ARTICLES = frozenset(
    (
        "the",
        "this",
        "that",
        "these",
        "those",
        "its",
        "your",
        "our",
        "both",
        "his",
        "each",
        "same",
        ".",
    )
)


@dataclass(slots=True)
class Item:
    """A lexicon phrase, or one plain word or mark (role `word`), in its sentence.

    `start` and `end` (exclusive) are token indexes. `closeness` is below 1 for a near spelling.
    """

    role: str
    id: str
    start: int
    end: int
    text: str
    plural: bool = False
    weak: bool = False
    closeness: float = 1.0

    def is_word(self, words: Iterable[str]) -> bool:
        """Whether this is one of some plain words."""
        return self.role == "word" and self.id in words


@dataclass(frozen=True, slots=True)
class _Meaning:
    role: str
    id: str
    plural: bool
    weak: bool


class TermFinder:
    """The component `terms`: assigns `doc._.items`, a list of items for each sentence."""

    def __init__(self, vocab: Vocab, lexicon: Lexicon) -> None:
        self._matcher = PhraseMatcher(vocab, attr="LOWER")
        self._meanings: dict[int, _Meaning] = {}
        single_words: dict[str, _Meaning] = {}
        by_meaning: dict[_Meaning, list[Doc]] = {}
        for phrase in _with_clitics(lexicon.phrases):
            meaning = _Meaning(phrase.role, phrase.id, phrase.plural, phrase.weak)
            cut = _cut(phrase.text)
            by_meaning.setdefault(meaning, []).append(Doc(vocab, words=cut))
            if len(cut) == 1 and phrase.role in ("part", "defect"):
                single_words.setdefault(phrase.text, meaning)
        by_meaning[_Meaning("idiom", "idiom", False, False)] = [
            Doc(vocab, words=pieces(idiom)) for idiom in IDIOMS
        ]
        for meaning, docs in by_meaning.items():
            key = f"{meaning.role}|{meaning.id}|{meaning.plural:d}|{meaning.weak:d}"
            self._matcher.add(key, docs)
            self._meanings[vocab.strings[key]] = meaning
        known = {token.lower_ for docs in by_meaning.values() for doc in docs for token in doc}
        known |= {word for thing in lexicon.sizes_mm for word in thing.split()}
        self._near = _near_speller(single_words, frozenset(known) | COMMON_WORDS)

    def __call__(self, doc: Doc) -> Doc:
        """Lays out the items of every sentence."""
        lower: list[str] = doc._.lower
        found = self._chosen(doc, lower)
        doc._.items = [list(self._row(lower, sentence, found)) for sentence in doc._.sentences]
        return doc

    def _chosen(self, doc: Doc, lower: Sequence[str]) -> dict[int, Item]:
        """The matches that stand, by their first token."""
        matches = [(*m, self._meanings[m[0]]) for m in self._matcher(doc)]
        # The longest wins; "gone blue" is more telling than "'s gone" before it.
        matches.sort(
            key=lambda m: (m[1] - m[2], _PRECEDENCE.index(m[3].role), lower[m[1]] == "'s", m[1])
        )
        taken: set[int] = set()
        chosen: dict[int, Item] = {}
        for _, start, end, meaning in matches:
            if meaning.role == "idiom" and (
                _is_counted(lower, start, end) or _is_a_side(lower, start)
            ):
                continue  # "a chip in the glass", "over on the right now" are no idioms
            if taken.isdisjoint(range(start, end)):
                text = " ".join(lower[start:end])
                chosen[start] = Item(
                    meaning.role, meaning.id, start, end, text, meaning.plural, meaning.weak
                )
                taken.update(range(start, end))
        return chosen

    @staticmethod
    def _has_neighbour(lower: Sequence[str], item: Item, found: dict[int, Item]) -> bool:
        """Whether a weak part ("can") is named: after an article, beside a place, as a subject."""
        before = lower[item.start - 1] if item.start else "."
        after = lower[item.end] if item.end < len(lower) else "."
        told = item.end in found and found[item.end].role in ("defect", "no_damage")
        if before in _CLAUSE_STARTS and (after in _VERBS or told):
            return True
        beside = any(
            found.get(i) is not None and found[i].end == item.start
            for i in range(max(0, item.start - 3), item.start)
        )
        return before in _ARTICLES or beside

    def _row(self, lower: Sequence[str], sentence: range, found: dict[int, Item]) -> Iterator[Item]:
        index = sentence.start
        while index < sentence.stop:
            item = found.get(index)
            if item is None or item.end > sentence.stop:
                word = lower[index]
                item = self._near(word, index) or Item("word", word, index, index + 1, word)
            if item.weak and item.role == "part" and not self._has_neighbour(lower, item, found):
                item = replace(item, role="word", id=item.text)
            if item.role == "idiom":
                for token in range(item.start, item.end):
                    yield Item("word", "~", token, token + 1, lower[token])
            else:
                yield item
            index = item.end


def _is_counted(lower: Sequence[str], start: int, end: int) -> bool:
    """Whether a flaw's word and a particle are counted like a thing, and so mean what they say."""
    return (
        end - start == 2
        and lower[end - 1] in PREPOSITIONS
        and start > 0
        and lower[start - 1] in _COUNTING
    )


def _is_a_side(lower: Sequence[str], start: int) -> bool:
    return lower[start] == "right" and start > 0 and lower[start - 1] == "the"


def _with_clitics(phrases: Iterable[Phrase]) -> Iterator[Phrase]:
    """The phrases, and "'s good" beside each "is good"."""
    for phrase in phrases:
        yield phrase
        if phrase.text.startswith("is "):
            yield phrase._replace(text=f"'s {phrase.text[3:]}")


def _cut(text: str) -> list[str]:
    """The tokens of a phrase; a leading clitic is one, as in the talk."""
    return ["'s", *pieces(text[3:])] if text.startswith("'s ") else pieces(text)


def _near_speller(single_words: dict[str, _Meaning], known: frozenset[str]) -> Any:
    """A cached look-up of words one slip (OSA distance 1) from a lexicon word."""
    choices = [word for word in single_words if len(word) >= _SHORTEST_REPAIRED_WORD]

    @lru_cache(maxsize=50_000)
    def near(word: str) -> Item | None:
        if len(word) < _SHORTEST_REPAIRED_WORD - 1 or word in known or not word.isalpha():
            return None
        if is_english(word):
            return None
        hits = extract(word, choices, scorer=OSA.distance, score_cutoff=1, limit=2)
        hits = [hit for hit in hits if hit[0][0] == word[0]]
        meanings = {(single_words[hit[0]].role, single_words[hit[0]].id) for hit in hits}
        if len(meanings) != 1:
            return None
        best = hits[0][0]
        meaning = single_words[best]
        closeness = 1 - 1 / len(best)
        return Item(meaning.role, meaning.id, 0, 1, best, meaning.plural, meaning.weak, closeness)

    def at(word: str, index: int) -> Item | None:
        item = near(word)
        return replace(item, start=index, end=index + 1) if item else None

    return at


@Language.factory(
    "terms",
    requires=["doc._.sentences"],
    assigns=["doc._.items"],
    default_config={"kind": "motorcycle", "extra": None},
)
def make_terms(nlp: Language, name: str, kind: str, extra: tuple[str, str] | None) -> TermFinder:  # noqa: ARG001
    """The factory of the component; `extra` is a shop's own lexicon file, its name and text."""
    return TermFinder(nlp.vocab, load_lexicon(kind, FileText(*extra) if extra else None))
