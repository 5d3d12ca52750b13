"""How well the words were heard: error rates over all words and over the trade's.

Numbers, percentages and spelled letters are left out on both sides, since recognisers write them
in ways of their own ("B4471", "12,430"); counts, sizes and header fields measure those.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass

import jiwer

from lexicon.load import Lexicon
from pipeline.score.measures import Share

_WORD = re.compile(r"[^\W_]+(?:['’][^\W_]+)*")
_NUMBER = re.compile(
    r"zero|one|two|(three|four|five|six|seven|eight|nine)(teen|ty)?|ten|eleven|twelve|thirteen|"
    r"fifteen|eighteen|twenty|thirty|forty|fifty|eighty|hundred|thousand|percent|.*\d.*|[^ai]"
)


@dataclass(frozen=True)
class Heard:
    """Errors in words, as shares of the words said; `trade` of those of the trade.

    `words`: word error rate. `trade`: trade words substituted or deleted. `invented`: trade words
    heard where others, or none, were said.
    """

    words: Share
    trade: Share
    invented: Share

    def __add__(self, other: "Heard") -> "Heard":
        return Heard(
            self.words + other.words, self.trade + other.trade, self.invented + other.invented
        )


def heard(said: str, transcribed: str, lexicon: Lexicon) -> Heard:
    """Compares what was said with what was transcribed.

    Word error rate is (substituted + deleted + inserted) / reference words, by jiwer's alignment.
    Trade words are those of the lexicon's phrases for parts and flaws, as they stand in the text.
    """
    reference = _joined(plain_words(said), lexicon)
    hypothesis = _joined(plain_words(transcribed), lexicon)
    aligned = jiwer.process_words(" ".join(reference), " ".join(hypothesis))
    lost: set[int] = set()
    new: set[int] = set()
    for chunk in aligned.alignments[0]:
        if chunk.type != "equal":
            lost.update(range(chunk.ref_start_idx, chunk.ref_end_idx))
            new.update(range(chunk.hyp_start_idx, chunk.hyp_end_idx))
    errors = aligned.substitutions + aligned.deletions + aligned.insertions
    trade, trade_heard = trade_words(reference, lexicon), trade_words(hypothesis, lexicon)
    return Heard(
        words=Share(errors, len(reference)),
        trade=Share(len(trade & lost), len(trade)),
        invented=Share(len(trade_heard & new), len(reference)),
    )


def plain_words(text: str) -> list[str]:
    """The words that are compared: lower case, no punctuation, hyphens open, no numbers.

    >>> plain_words("Stock B4471: a two-inch scratch, twelve thousand miles.")
    ['stock', 'a', 'inch', 'scratch', 'miles']
    """
    words = (word.lower().replace("’", "'") for word in _WORD.findall(text))
    return [word for word in words if not _NUMBER.fullmatch(word)]


def trade_words(words: list[str], lexicon: Lexicon) -> set[int]:
    """Indexes of the words that belong to a phrase for a part or a flaw, longest phrases first."""
    phrases = _phrases(lexicon)
    longest = max(map(len, phrases))
    found: set[int] = set()
    at = 0
    while at < len(words):
        lengths = range(min(longest, len(words) - at), 0, -1)
        length = next((n for n in lengths if tuple(words[at : at + n]) in phrases), 0)
        found.update(range(at, at + length))
        at += max(1, length)
    return found


def _phrases(lexicon: Lexicon) -> frozenset[tuple[str, ...]]:
    return frozenset(
        tuple(phrase.text.split())
        for phrase in lexicon.phrases
        if phrase.role in ("part", "defect") and not phrase.weak
    )


def _joined(words: Iterable[str], lexicon: Lexicon) -> list[str]:
    """The words with two-word spellings of one trade word joined: "saddle bag" is "saddlebag"."""
    texts = {phrase.text for phrase in lexicon.phrases if phrase.role in ("part", "defect")}
    joined: list[str] = []
    for word in words:
        if joined and f"{joined[-1]} {word}" in texts and joined[-1] + word in texts:
            joined[-1] += word
        else:
            joined.append(word)
    return joined
