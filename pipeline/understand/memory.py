"""What a listener remembers from one sentence to the next.

The side the speaker stands on, the parts last spoken of, and what was last said of them: that is
all it takes to follow "it", "so does the backrest", "same on the other side".
"""

from collections.abc import Container, Sequence
from dataclasses import dataclass, field

from pipeline.models import Place, Side
from pipeline.understand.mood import Mood
from pipeline.understand.pairing import Group, link
from pipeline.understand.plain import words
from pipeline.understand.said import Clean, Flaw
from pipeline.understand.sentence import Sentence
from pipeline.understand.talk import DETERMINERS, LANDMARKS
from pipeline.understand.terms import Item

_FOCUS_SENTENCES = 4
_IN_PASSING = LANDMARKS | words("in with for from like of")


@dataclass(slots=True)
class Memory:
    """`walk` is the side the speaker stands on; `focus` the places last spoken of, in order;
    `last_flaws` those of the last sentence that stated any; `latest` the last one of each defect,
    `known` the last one of each defect and part, in the order in which they were last said;
    `asked` the flaw that the last sentence only asked for ("Any rust?"), after the part it asked it
    of, if any; `last_clean` the places that it called clean.
    """

    walk: Side | None = None
    focus: list[Place] = field(default_factory=list)
    focus_sentence: int = -100
    last_flaws: list[Flaw] = field(default_factory=list)
    latest: dict[str, Flaw] = field(default_factory=dict)
    known: dict[tuple[str, str], Flaw] = field(default_factory=dict)
    asked: list[Item] = field(default_factory=list)
    last_clean: list[Place] = field(default_factory=list)

    def has_focus(self, number: int, reach: int = _FOCUS_SENTENCES) -> bool:
        """Whether a part was spoken of at most `reach` sentences before sentence `number`."""
        return bool(self.focus) and number - self.focus_sentence <= reach

    def recent_flaws(self, number: int) -> list[Flaw]:
        """What was said at most two sentences before sentence `number`."""
        if self.last_flaws and number - self.last_flaws[-1].sentence <= 2:
            return self.last_flaws
        return []

    def last_known(self, defect: str | None, parts: Container[str]) -> Flaw | None:
        """The flaw last said of some parts, of one kind or (`defect` None) of any."""
        return next(
            (
                flaw
                for (id_, part), flaw in reversed(self.known.items())
                if defect in (None, id_) and part in parts
            ),
            None,
        )

    def take_in(self, sentence: Sentence, flaws: Sequence[Flaw], clean: Sequence[Clean]) -> None:
        """Remembers what a sentence said."""
        if flaws:
            self.last_flaws = list(flaws)
            self.latest.update((flaw.defect.id, flaw) for flaw in flaws)
            for flaw in flaws:
                key = flaw.defect.id, flaw.target.place.part
                self.known.pop(key, None)  # so that the last said stands last
                self.known[key] = flaw
        self.asked = _asked(sentence)
        self.last_clean = [part.target.place for part in clean]
        places: list[Place] = []
        if flaws and sentence.flaws:
            last = flaws[-1].items[0]
            places = [flaw.target.place for flaw in flaws if flaw.items[0] == last]
        elif flaws:
            places = [flaws[-1].target.place]
        elif sentence.parts:
            places = [target.place for target in sentence.targets_of(_topic(sentence))]
        elif clean:
            places = [clean[-1].target.place]
        if places:
            self.focus = places
            self.focus_sentence = sentence.number


def _topic(sentence: Sentence) -> Group:
    """The parts that a sentence is about: the last ones that do not only say where or with what.

    "The seat is the heated one with the storage box behind" is about the seat.
    """
    own = [group for group in sentence.parts if not _is_in_passing(sentence, group.first)]
    return (own or sentence.parts)[-1]


def _is_in_passing(sentence: Sentence, part: int) -> bool:
    before = sentence.spots[part].first - 1
    while before >= 0 and sentence.row[before].is_word(DETERMINERS):
        before -= 1
    return before >= 0 and sentence.row[before].is_word(_IN_PASSING)


def _asked(sentence: Sentence) -> list[Item]:
    """The one flaw that a question asks for, where nothing is stated in it, after its part."""
    row = sentence.row
    flaws = [i for i, item in enumerate(row) if item.role == "defect"]
    asked = row[-1].is_word(("?",)) and len(flaws) == 1
    if not asked or (sentence.parts and not sentence.mood[flaws[0]] & Mood.IMAGINED):
        return []
    parts = link(row, Group((flaws[0],)), sentence.parts)
    where = sentence.spots[parts.first] if parts else None
    return [*(row[where.first : where.last + 1] if where else ()), row[flaws[0]]]
