"""Phrases by their sound: which ones sound like some words, and how nearly.

Two sequences of phones are compared by edit distance, a phone for another costing what
`data/phones.toml` says of how they are made, over the number of phones of the longer one: 0 where
they sound the same. Word boundaries do not count: "saddle begone" is near "saddlebag on".

The index keeps each phrase under its skeleton, the row of the broad classes of its phones (vowel,
stop, fricative, nasal, liquid), and under that skeleton less any one class. A look-up therefore
meets all phrases that differ by sounds of like class and one sound more, without a scan.
"""

import tomllib
from collections.abc import Iterable, Sequence
from functools import lru_cache
from importlib import resources
from itertools import groupby
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lexicon.expand import Phrase
from pipeline.sounds import phones

Codes = tuple[int, ...]

_CLASSES = {
    "stop": "p",
    "affricate": "s",
    "fricative": "s",
    "nasal": "n",
    "liquid": "l",
    "glide": "l",
}
_OTHER_MANNER, _RELATED, _DROPPED = 0.6, 0.4, 0.55
_LONGEST_CACHE = 50_000


class Near(NamedTuple):
    """A phrase, and its distance in sound, 0 to 1."""

    phrase: Phrase
    distance: float


class _Sounds(NamedTuple):
    """All phones by number: costs of one for another and of dropping one, and their classes."""

    number: dict[str, int]
    swap: NDArray[np.float64]
    drop: NDArray[np.float64]
    classes: list[str]


class SoundIndex:
    """Finds the phrases that sound like some words."""

    def __init__(self, phrases: Iterable[Phrase]) -> None:
        coded = [(phrase, spoken(phrase.text)) for phrase in phrases]
        coded = [(phrase, codes) for phrase, codes in coded if codes]
        self._phrases = [phrase for phrase, _ in coded]
        self._lengths = np.array([len(codes) for _, codes in coded])
        self._codes = np.zeros((max(self._lengths, default=0), len(coded)), dtype=np.int64)
        members: dict[str, list[int]] = {}
        for at, (_, codes) in enumerate(coded):
            self._codes[: len(codes), at] = codes
            for key in _keys(codes):
                members.setdefault(key, []).append(at)
        self._members = {key: np.array(own) for key, own in members.items()}
        self._known: dict[Codes, list[Near]] = {}

    def near(self, text: str, within: float) -> list[Near]:
        """The phrases at most so far from the sound of lower-case words, the nearest first."""
        codes = spoken(text)
        if codes not in self._known:
            if len(self._known) >= _LONGEST_CACHE:
                self._known.clear()
            self._known[codes] = self._looked_up(codes, within)
        return self._known[codes]

    def _looked_up(self, codes: Codes, within: float) -> list[Near]:
        met = [own for key in _keys(codes) if (own := self._members.get(key)) is not None]
        if not met:
            return []
        ids = np.unique(np.concatenate(met))
        longest = np.maximum(self._lengths[ids], len(codes))
        ids = ids[np.abs(self._lengths[ids] - len(codes)) * 0.35 <= within * longest]
        if not len(ids):
            return []
        lengths = self._lengths[ids]
        shares = _distances(codes, self._codes[: lengths.max(), ids], lengths)
        order = np.argsort(shares, kind="stable")
        return [
            Near(self._phrases[ids[i]], round(float(shares[i]), 4))
            for i in order
            if shares[i] <= within
        ]


@lru_cache(maxsize=_LONGEST_CACHE)
def spoken(text: str) -> Codes:
    """The phones of lower-case words as numbers, as said in one breath: no phone twice in a row."""
    number = _sounds().number
    said = [number[phone] for word in text.split() for phone in phones(word) if phone in number]
    return tuple(code for code, _ in groupby(said))


def distance(one: str, other: str) -> float:
    """How far apart two texts sound: 0 where they sound the same, 1 where nothing is alike.

    >>> distance("hay z", "hazy")
    0.0
    """
    left, right = spoken(one), spoken(other)
    if not left or not right:
        return float(left != right)
    column = np.array(right, dtype=np.int64)[:, np.newaxis]
    return float(_distances(left, column, np.array([len(right)]))[0])


def _distances(
    codes: Codes, others: NDArray[np.int64], lengths: NDArray[np.int64]
) -> NDArray[np.float64]:
    """Distances of one sequence from many, the columns of `others`, at once.

    Wagner and Fischer's rows; that a row's own entries follow from one another by dropping phones
    is a running minimum once the cost of dropping all phones so far is taken off.
    """
    _, swap, drop, _ = _sounds()
    ahead = np.zeros((len(others) + 1, others.shape[1]))
    np.cumsum(drop[others], axis=0, out=ahead[1:])
    row = ahead
    for code in codes:
        best = row + drop[code]
        np.minimum(best[1:], row[:-1] + swap[code][others], out=best[1:])
        row = np.minimum.accumulate(best - ahead, axis=0) + ahead
    totals = row[lengths, np.arange(len(lengths))]
    shares: NDArray[np.float64] = totals / np.maximum(lengths, len(codes))
    return shares


def _keys(codes: Codes) -> set[str]:
    """The skeleton, and the skeleton less any one class."""
    classes = _sounds().classes
    row = "".join(classes[code] for code in codes)
    bones = "".join(bone for bone, _ in groupby(row))
    return {bones, *(bones[:at] + bones[at + 1 :] for at in range(len(bones)))}


@lru_cache
def _sounds() -> _Sounds:
    source = resources.files("pipeline.weigh") / "data" / "phones.toml"
    table = tomllib.loads(source.read_text("utf-8"))
    names = [*table["consonants"], *table["vowels"], *table["diphthongs"]]
    return _Sounds(
        number={name: at for at, name in enumerate(names)},
        swap=np.array([[_swap(table, one, other) for other in names] for one in names]),
        drop=np.array([table["dropped"].get(name, _DROPPED) for name in names]),
        classes=[_class(table, name) for name in names],
    )


def _class(table: dict[str, Any], name: str) -> str:
    if name == "h":
        return ""  # too faint to tell words apart
    made = table["consonants"].get(name)
    return _CLASSES[made[1]] if made else "a"


def _swap(table: dict[str, Any], one: str, other: str) -> float:
    """The cost of one phone for another."""
    consonants, related = table["consonants"], table["related"]
    if one == other:
        return 0.0
    if one in related.get(other, ()) or other in related.get(one, ()):
        return _RELATED
    if one in consonants and other in consonants:
        return _swap_consonants(table["manners"], consonants[one], consonants[other])
    if one in consonants or other in consonants:
        return 1.0
    steps = zip(_path(table, one), _path(table, other), strict=True)
    apart = [np.abs(np.subtract(here, there)).sum() for here, there in steps]
    return min(1.0, 0.05 + 0.35 * float(np.mean(apart)))


def _swap_consonants(
    manners: dict[str, dict[str, float]], one: Sequence[Any], other: Sequence[Any]
) -> float:
    (place, manner, voice), (other_place, other_manner, other_voice) = one, other
    apart = 0.1 + 0.36 * abs(place - other_place) + 0.1 * (voice != other_voice)
    if manner != other_manner:
        known = manners.get(manner, {}) | {
            name: row[manner] for name, row in manners.items() if manner in row
        }
        apart += known.get(other_manner, _OTHER_MANNER)
    return min(1.0, float(apart))


def _path(table: dict[str, Any], name: str) -> list[list[float]]:
    """Where a vowel begins and ends."""
    ends = table["diphthongs"].get(name, (name, name))
    return [table["vowels"][end] for end in ends]
