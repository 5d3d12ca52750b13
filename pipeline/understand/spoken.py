"""From items back to the words of the transcript that they were read from."""

from collections.abc import Sequence
from itertools import takewhile

from spacy.tokens import Doc

from pipeline.models import Line, Word
from pipeline.understand.terms import Item
from pipeline.understand.tokens import Origin


class Spoken:
    """The words of a talk, looked up by the tokens of its Doc."""

    def __init__(self, doc: Doc) -> None:
        self._lines: list[Line] = doc._.lines
        self._origin: list[Origin] = doc._.origin
        self._texts: list[str] = doc._.texts

    def line_id(self, token: int) -> str:
        """The id of the line that a token is in."""
        return self._lines[self._origin[token].line].id

    def words(self, items: Sequence[Item]) -> list[Word]:
        """The words from the first to the last of some items.

        Words read as part of the one before them ("fare ring", read as "fairing") come along.
        """
        first, last = _span(items)
        start, end = self._origin[first], self._origin[last - 1]
        words: list[Word] = []
        for number in range(start.line, end.line + 1):
            line = self._lines[number]
            low = start.word if number == start.line else 0
            high = end.word + 1 if number == end.line else len(line.words)
            words += line.words[low:high] if line.status != "unheard" else []
        following = self._lines[end.line].words[end.word + 1 :]
        return [*words, *takewhile(lambda word: word.read_as == "", following)]

    def read_as(self, items: Sequence[Item]) -> str:
        """The words from the first to the last of some items, as they were understood."""
        repaired = {item.start: item.text for item in items if item.closeness < 1}
        if repaired:
            first, last = _span(items)
            return " ".join(repaired.get(i, self._texts[i]) for i in range(first, last))
        read = (w.read for w in self.words(items))
        return " ".join(text for text in read if text)


def _span(items: Sequence[Item]) -> tuple[int, int]:
    return min(item.start for item in items), max(item.end for item in items)
