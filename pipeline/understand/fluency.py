"""What a speaker fills pauses with ("uh", ", you know,", "the, the"), which says nothing."""

from collections.abc import Iterator, Sequence

from pipeline.understand.plain import words

_HESITATIONS = words("uh uhh um umm er erm uhm hmm")
# These say nothing only where they are set off by a comma after them.
_SET_OFF = (("you", "know"), ("like",), ("ya", "know"), ("i", "dunno"), ("let's", "see"))
_OPENERS = frozenset(filler[0] for filler in _SET_OFF)
_LIKING = words("don't didn't i we you they looks look looked feels sounds would i'd really")
_LITTLE = words(
    "the a an it it's there's this that that's these those i on in and of is are 's to has have "
    "got you've i've we've we with at from for by its your but so what's here's"
)


def fluent(lower: Sequence[str]) -> Iterator[int]:
    """The indexes of the tokens that say something.

    A pause after a content word is kept as its comma: in "the engine, uh, the clutch cover" a new
    thing begins, in "it's, uh, dented" none does.
    """
    kept: list[int] = []
    index = 0
    while index < len(lower):
        length = _filler(lower, index)
        if length == 0:
            kept.append(index)
            index += 1
            continue
        after = index + length
        closed = lower[after : after + 1] == [","]
        before = kept[-1] if kept else None
        opened = before is not None and lower[before] == ","
        if opened and len(kept) > 1 and lower[kept[-2]] not in _LITTLE:
            if lower[index] in _HESITATIONS:
                kept.extend(range(index, after))  # "engine, uh, clutch cover" takes back the engine
                index = after
                continue
            index = after + closed
            continue
        if opened and closed:
            kept.pop()
        index = after + closed
    yield from _without_stutter(lower, kept)


def _filler(lower: Sequence[str], index: int) -> int:
    """How many tokens a filler takes that stands at an index; 0 for none."""
    if lower[index] in _HESITATIONS:
        return 1
    if lower[index] not in _OPENERS:
        return 0
    if index and lower[index] == "like" and lower[index - 1] in _LIKING:
        return 0
    for filler in _SET_OFF:
        after = index + len(filler)
        if tuple(lower[index:after]) == filler and lower[after : after + 1] == [","]:
            return len(filler)
    return 0


def _without_stutter(lower: Sequence[str], kept: Sequence[int]) -> Iterator[int]:
    """Leaves out a little word said again at once: "the, the left one"."""
    for place, index in enumerate(kept):
        word = lower[index]
        if word not in _LITTLE and word != ",":
            yield index
            continue
        ahead = [lower[i] for i in kept[place + 1 : place + 3]]
        if word in _LITTLE and (ahead[:1] == [word] or ahead == [",", word]):
            continue
        if word == "," and place and lower[kept[place - 1]] == (ahead or [""])[0] in _LITTLE:
            continue
        yield index
