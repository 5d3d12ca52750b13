"""Ordinary words that a recogniser writes for others of the same sound, told by their neighbours.

Words of the trade are read by their sound in `weigh.repair`; these are not the trade's, and a
recording sounds the same either way.
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from pipeline.understand.plain import words

_MARKS = words(", . ; : ! ?")
_UNITS = words("inches millimeters millimetres centimeters centimetres mil feet percent")
_FLAWS = words("scratches chips dents dings gouges cracks scuffs holes tears nicks cuts stains")
_HAVING = words("has have got shows showing is there's of about with and ,")


class _Homophone(NamedTuple):
    """What is written, what is meant, and one of which words must stand before and after.

    An empty text is the beginning or the end of the talk.
    """

    written: str
    meant: tuple[str, ...]
    before: frozenset[str] | None
    after: frozenset[str] | None


_HOMOPHONES = (
    _Homophone("weight", ("wait",), words("no sir ma'am , oh"), _MARKS),
    _Homophone("hole", ("whole",), None, words("truth lot thing story time way")),
    _Homophone("for", ("four",), _HAVING, _UNITS | _FLAWS),
    _Homophone("to", ("two",), _HAVING, _UNITS | _FLAWS),
    _Homophone("too", ("two",), _HAVING, _UNITS | _FLAWS),
    _Homophone("two", ("too",), words("it them here there"), _MARKS),
    _Homophone("safe", ("save",), words(","), words("for")),
    _Homophone("somewhere", ("some", "wear"), _HAVING - {","}, _MARKS | {""}),
    _Homophone("where", ("wear",), words("that's some"), _MARKS | {""}),
    _Homophone("pins", ("pence",), None, words("piece")),
    _Homophone("tenpins", ("ten", "pence"), None, words("piece")),
    _Homophone("matt", ("mat",), words("the this that floor foot footwell rubber"), None),
    _Homophone("adent", ("a", "dent"), None, None),
)
_BY_WORD: dict[str, list[_Homophone]] = {}
for _each in _HOMOPHONES:
    _BY_WORD.setdefault(_each.written, []).append(_each)


def meant(lower: Sequence[str]) -> Iterator[tuple[str, ...] | None]:
    """For each lower-case token the words that are meant by it, None where it means itself.

    >>> list(meant("a dent in it two , for inches".split()))[4:7]
    [('too',), None, ('four',)]
    """
    for at, word in enumerate(lower):
        if word not in _BY_WORD:
            yield None
            continue
        if lower[max(0, at - 2) : at] == ["call", "it"]:
            yield None  # "three inches, no, call it two"
            continue
        before = lower[at - 1] if at else ""
        after = lower[at + 1] if at + 1 < len(lower) else ""
        yield next(
            (
                each.meant
                for each in _BY_WORD[word]
                if (each.before is None or before in each.before)
                and (each.after is None or after in each.after)
            ),
            None,
        )
