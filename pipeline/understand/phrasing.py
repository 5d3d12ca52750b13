"""Looking for phrases of plain English in a row of items."""

from collections.abc import Iterable, Iterator, Sequence

from pipeline.understand.terms import Item


class PhraseSet:
    """Plain phrases, found longest first wherever they stand in a row of items."""

    def __init__(self, phrases: Iterable[str]) -> None:
        self._by_first: dict[str, list[list[str]]] = {}
        for phrase in sorted(phrases, key=lambda p: -len(p.split())):
            cut = phrase.split()
            self._by_first.setdefault(cut[0], []).append(cut)
        self._first_words = self._by_first.keys()

    def find(self, flat: list[str]) -> Iterator[tuple[int, int]]:
        """Start and end (exclusive) of each phrase in a list of words; they do not overlap."""
        if self._first_words.isdisjoint(flat):
            return
        free = 0
        for index, word in enumerate(flat):
            if index < free or word not in self._first_words:
                continue
            for cut in self._by_first[word]:
                if flat[index : index + len(cut)] == cut:
                    free = index + len(cut)
                    yield index, free
                    break


def flat_words(row: Sequence[Item]) -> tuple[list[str], list[int]]:
    """The words of a row, and for each the index of the item that it belongs to.

    Words of an idiom are no words of the talk: "~" each.
    """
    flat: list[str] = []
    owner: list[int] = []
    for index, item in enumerate(row):
        if " " in item.text:
            cut = item.text.split(" ")
            flat += cut
            owner += [index] * len(cut)
        else:
            flat.append(item.id if item.role == "word" else item.text)
            owner.append(index)
    return flat, owner
