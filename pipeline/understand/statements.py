"""The walk through the talk: from items to flaws and clean parts, sentence after sentence.

What is remembered from one sentence to the next: the side the speaker stands on, the parts last
spoken of, and what was last said of them. That is all a listener needs to follow "it", "so does
the backrest", "same on the other side".
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from spacy.language import Language
from spacy.tokens import Doc

from lexicon.expand import Phrase
from lexicon.load import Lexicon
from pipeline.models import Place, Position, Side
from pipeline.understand.mood import Mood
from pipeline.understand.pairing import Group, flaw_groups, link, part_groups
from pipeline.understand.phrasing import PhraseSet, flat_words
from pipeline.understand.places import OPPOSITE, OTHER_END, spot
from pipeline.understand.talk import (
    ADVERBS,
    AGAIN,
    ANOTHER,
    ARTICLES,
    COMMON_WORDS,
    DETERMINERS,
    EXISTENTIALS,
    FILLERS,
    HAVING,
    LANDMARKS,
    LIST_LINKS,
    MOVES,
    NO_DENIAL,
    PLURAL_PRONOUNS,
    PREPOSITIONS,
    PRONOUNS,
    SAME,
    words,
)
from pipeline.understand.terms import Item

_MOVES = PhraseSet(MOVES)
_SAME = PhraseSet(SAME)
_AGAIN = PhraseSet(AGAIN)
_NO_DENIAL = PhraseSet(NO_DENIAL)
_OTHER_SIDE = PhraseSet(
    {"other side", "opposite side", "far side", "other one", "its twin", "the twin", "its mate"}
    | {"opposite one", "its partner", "other hand side", "its brother", "its sister", "its match"}
)
_OTHER_WALK = PhraseSet({"other side", "opposite side", "far side"})
_THIS_SIDE = PhraseSet({"this side", "this here side"})
_CLAUSE_STARTS = words(", . ; : - but")
_ASSERTING = (
    LANDMARKS | ARTICLES | DETERMINERS | ADVERBS | FILLERS | PRONOUNS | EXISTENTIALS | LIST_LINKS | PREPOSITIONS
    | (HAVING - words("started starting starts runs ran comes came"))
    | words("you can see you'll notice i we also will then around over up down where been could might may "
            "oh hey look yes no other same side way spot one ones am be to bit more else ~ not")
) - words("if he she his her my our")  # fmt: skip
_MENDED = frozenset(("prior_repair", "repaint", "replaced_part", "touch_up"))
_PAST = words("had was were used")
_HERE = words("here there over on the up down at back now")
_TOO = PhraseSet({"too", "as well", "also"})
_GOVERNED = words("of from with for to against without into out")
_ENDS = words("front back rear cockpit dash top tail behind end bars middle controls nose stern bow")
_FOCUS_SENTENCES = 4
_SHORT = 9
_EXTENT = words("long wide across deep tall high")
_TOPIC_PREPOSITIONS = words("on at over to around here along down from")


@dataclass(slots=True)
class Target:
    """A place a flaw is said of, and the items of the sentence that name it (empty if implied)."""

    place: Place
    items: list[int] = field(default_factory=list)


@dataclass(slots=True)
class Flaw:
    """One flaw said of one place, with everything said of its degree, as item indexes and values."""

    sentence: int
    defect: Item
    target: Target
    qualifiers: list[int] = field(default_factory=list)
    count: int | None = None
    size_mm: float | None = None
    area_pct: float | None = None
    amount_said: list[str] = field(default_factory=list)
    items: list[int] = field(default_factory=list)
    doubted: bool = False
    referred: bool = False
    definite: bool = False
    another: bool = False
    notes: list[str] = field(default_factory=list)


@dataclass(slots=True)
class Clean:
    """A part called free of damage."""

    sentence: int
    target: Target
    items: list[int]


@dataclass(slots=True)
class Said:
    """All that was said: flaws, clean parts, and sentences that refer to something never heard."""

    flaws: list[Flaw] = field(default_factory=list)
    clean: list[Clean] = field(default_factory=list)
    unresolved: list[int] = field(default_factory=list)


@Language.component(
    "statements", requires=["doc._.items", "doc._.mood"], assigns=["doc._.said"]
)
def statements(doc: Doc) -> Doc:
    """Reads the flaws and clean parts of the whole talk."""
    reader = _Reader(doc._.lexicon)
    for index, (row, mood) in enumerate(zip(doc._.items, doc._.mood, strict=True)):
        reader.read(index, row, mood)
    doc._.said = reader.said
    return doc


class _Reader:
    """Reads one sentence after another; its fields are what a listener remembers."""

    def __init__(self, lexicon: Lexicon) -> None:
        self._lexicon = lexicon
        self._parts = lexicon.parts
        self._axles = lexicon.kind in ("motorcycle",)
        self.said = Said()
        self._walk: Side | None = None
        self._focus: list[Place] = []
        self._focus_sentence = -100
        self._last_flaws: list[Flaw] = []
        self._last_clean: list[Clean] = []

    def read(self, sentence: int, row: list[Item], mood: Sequence[Mood]) -> None:
        """Takes in one sentence."""
        self._row, self._mood, self._sentence = row, mood, sentence
        self._flat, self._owner = flat_words(row)
        self._same_clean: list[Target] = []
        self._name_unknown_parts()
        self._compound()
        self._resolve_ones()
        self._groups = part_groups(row)
        self._flaws_here = [g for g in flaw_groups(row) if self._is_meant(g)]
        self._spots = {i: spot(row, i) for i, item in enumerate(row) if item.role == "part"}
        self._loose = self._loose_places()
        self._move()
        self._targets = {i: self._target(i) for g in self._groups for i in g.members}
        stated = [flaw for group in self._flaws_here for flaw in self._state(group)]
        stated = self._without_mended(stated)
        self._degrees(stated)
        copied = self._same(stated)
        cleaned = list(self._clean(stated))
        self._remember(stated + copied, cleaned)

    # --- preparing the sentence ---------------------------------------------------------------

    def _cue(self, cues: PhraseSet) -> int | None:
        """The index of the first item of a cue phrase in this sentence."""
        return next((self._owner[start] for start, _ in cues.find(self._flat)), None)

    def _resolve_ones(self) -> None:
        """Reads "the left one", "the other one", "its twin" as the part last spoken of."""
        row = self._row
        recent = self._focus and self._sentence - self._focus_sentence <= _FOCUS_SENTENCES
        if not recent and not any(item.role == "part" for item in row):
            return
        for index, item in enumerate(row):
            named = [other.id for other in row[:index] if other.role == "part"]
            if not named and not recent:
                continue
            part = named[-1] if named else self._focus[-1].part
            placed = index > 0 and row[index - 1].role in ("side", "position")
            pointed = index + 1 < len(row) and row[index + 1].is_word(("on", "at", "in"))
            one = item.is_word(("one", "ones")) and (placed or pointed)
            side_subject = (
                item.role == "side"
                and item.text in ("left", "right")
                and index + 1 < len(row)
                and row[index + 1].is_word(("'s", "is", "has"))
                and not any(other.role == "part" for other in row[max(0, index - 4) : index])
            )
            if one:
                row[index] = Item("part", part, item.start, item.end, item.text)
                self._drop_topic(index, part)
            elif side_subject:
                row.insert(index + 1, Item("part", part, item.start, item.end, item.text))
                self._mood = [*self._mood[: index + 1], self._mood[index], *self._mood[index + 1 :]]
                self._flat, self._owner = flat_words(row)
                return

    def _drop_topic(self, index: int, part: str) -> None:
        """Lets "the fender, the front one," name one fender, not two."""
        for i in range(max(0, index - 5), index):
            item = self._row[i]
            between = self._row[i + 1 : index]
            if item.role == "part" and item.id == part and between[0].is_word((",",)) and all(
                other.role in ("side", "position") or other.is_word(words(", the uh um"))
                for other in between
            ):
                self._row[i] = replace(item, role="word", id="~")

    def _name_unknown_parts(self) -> None:
        """Makes a part `other` of a thing, unknown to the lexicon, that a flaw is said of."""
        row = self._row
        for group in flaw_groups(row):
            if not self._is_meant(group) or self._mood[group.first] & Mood.DENIED:
                continue
            right = self._unknown_after(group.last + 1)
            left = self._unknown_before(group.first)
            parts = part_groups(row)
            if right and not any(group.last < p.first < right[0] for p in parts):
                linked = link(row, group, parts)
                if linked is None or linked.first > right[0] or not _between_has(row, linked, group, HAVING):
                    self._make_other(*right)
                    return
            if left and not any(left[0] < p.first < group.first for p in parts):
                nearer = next((p for p in parts if p.first > group.last), None)
                if nearer is None or link(row, group, [nearer]) is None:
                    self._make_other(*left)
                    return

    def _compound(self) -> None:
        """Reads "the tank pad's peeling" as an unknown thing, not as the tank."""
        row = self._row
        for index in range(len(row) - 2):
            if row[index].role != "part" or row[index].id == "other":
                continue
            verb = row[index + 2].is_word(HAVING - EXISTENTIALS | words("'s is are has have"))
            if verb and self._is_strange(row[index + 1]) and not row[index + 1].id.endswith(("ly", "s")):
                self._make_other(index, index + 2)
                return

    def _make_other(self, start: int, stop: int) -> None:
        row = self._row
        text = " ".join(item.text for item in row[start:stop])
        row[start:stop] = [Item("part", "other", row[start].start, row[stop - 1].end, text)]
        self._mood = [*self._mood[: start + 1], *self._mood[stop:]]
        self._flat, self._owner = flat_words(row)

    def _unknown_after(self, index: int) -> tuple[int, int] | None:
        """The unknown thing of "... on the luggage net": a preposition, an article, strange words."""
        row = self._row
        if index >= len(row) or not row[index].is_word(PREPOSITIONS - words("for of like")):
            return None
        index += 1
        if index >= len(row) or not row[index].is_word(words("the this that its")):
            return None
        index += 1
        while index < len(row) and row[index].role in ("side", "position"):
            index += 1
        return self._strange(index)

    def _unknown_before(self, stop: int) -> tuple[int, int] | None:
        """The unknown thing of "the speaker grille is broken"."""
        row = self._row
        verb = next(
            (i for i in range(stop - 1, -1, -1) if row[i].is_word(HAVING - PRONOUNS - EXISTENTIALS | words("'s is are has have was"))),
            None,
        )
        if verb is None:
            verb = next((i for i in range(1, min(stop, 8)) if row[i].is_word((",", ":"))), None)
            if verb is None or any(item.role == "part" for item in row[:stop]):
                return None
        end = verb
        while end > 0 and (row[end - 1].role in ("side", "position") or row[end - 1].is_word(_HERE)):
            end -= 1
        start = end
        while start > 0 and (self._is_strange(row[start - 1]) or row[start - 1].role == "detail"):
            start -= 1
        if not any(self._is_strange(item) for item in row[start:end]):
            return None
        before = row[start - 1] if start else None
        placed = before is None or (
            before.role in ("side", "position")
            or before.is_word(words("the this that its your his a an"))
        )
        topic = start > 0 and self._has_topic(start)
        return (start, end) if placed and not topic and end - start <= 3 else None

    def _has_topic(self, stop: int) -> bool:
        """Whether a part named before is still what is spoken of: "the impeller, two of the blades"."""
        parts = [i for i in range(stop) if self._row[i].role == "part"]
        if not parts:
            return False
        opens = parts[0] <= 3 and self._row[parts[0] + 1].is_word((",", ":"))
        return opens or any(i.is_word(words("where whose that which")) for i in self._row[parts[-1] : stop])

    def _strange(self, start: int) -> tuple[int, int] | None:
        stop = start
        while stop < len(self._row) and self._is_strange(self._row[stop]):
            stop += 1
        return (start, stop) if start < stop <= start + 3 else None

    @staticmethod
    def _is_strange(item: Item) -> bool:
        return item.role == "word" and item.id.isalpha() and item.id not in COMMON_WORDS

    def _is_meant(self, group: Group) -> bool:
        """Whether a group of flaws is talk of this machine's flaws, not of "if it would rust"."""
        return all(not self._mood[i] & Mood.IMAGINED for i in group.members)

    # --- places -------------------------------------------------------------------------------

    def _loose_places(self) -> list[int]:
        """Indexes of sides and positions that belong to no part."""
        used = {i for s in self._spots.values() for i in range(s.first, s.last + 1)}
        return [
            i
            for i, item in enumerate(self._row)
            if item.role in ("side", "position") and i not in used
        ]

    def _move(self) -> None:
        """Where the speaker stands now, if the sentence says so."""
        move = self._cue(_MOVES)
        same = self._cue(_SAME)
        first_flaw = self._flaws_here[0].first if self._flaws_here else len(self._row)
        first_part = self._groups[0].first if self._groups else len(self._row)
        sides = [i for i in self._loose if self._row[i].role == "side" and self._row[i].id != "both"]
        leading = [i for i in sides if i < min(first_flaw, first_part) or move is not None and i > move]
        topical = [i for i in leading if move is not None or self._is_topic(i)]
        if not topical and sides and not self._groups and not self._flaws_here:
            topical = sides
        if topical and same is None:
            self._walk = self._row[topical[-1]].id  # type: ignore[assignment]
            return
        other = self._cue(_OTHER_WALK)
        opens = other is not None and other < min(first_part, same or 0)
        if other is not None and (same is None or opens) and (move is not None or other < first_flaw):
            self._walk = OPPOSITE.get(self._walk or "")
            return
        if move is not None and not sides:
            ends = {self._row[i].id for i in self._loose} & {"front", "rear"}
            named = ends | {w for w in self._flat if w in _ENDS}
            if named and not self._groups or named & _ENDS and first_part > move + 4:
                self._walk = None
        elif not self._groups and not self._flaws_here and len(self._row) <= _SHORT:
            if any(self._row[i].id in ("front", "rear") for i in self._loose) or (
                {"cockpit", "dash"} & set(self._flat)
            ):
                self._walk = None

    def _is_topic(self, index: int) -> bool:
        """Whether a place is what the sentence opens with ("on the left side, ...")."""
        return all(
            item.role in ("side", "position") or item.is_word(COMMON_WORDS)
            for item in self._row[:index]
        )

    def _sentence_side(self, index: int) -> Side | None:
        """The side that the sentence itself gives a part: a loose one before it, or its own flaw's."""
        before = [i for i in self._loose if i < index and self._row[i].role == "side"]
        return self._row[before[-1]].id if before else None  # type: ignore[return-value]

    def _target(self, index: int) -> list[Target]:
        """The places that a part item stands for; several where it names more than one."""
        item, where = self._row[index], self._spots[index]
        span = list(range(where.first, where.last + 1))
        detail = self._detail(index)
        base = Place(part=item.id, part_said=item.text, detail=detail)
        sides: Sequence[Side | None] = where.sides or (None,)
        if set(where.sides) == {"left", "right"}:
            sides = ("both",)
        positions: Sequence[Position | None] = where.positions or (None,)
        entry = self._parts.get(item.id)
        if self._both_of_them(index):
            sides = ("both",)
        if sides == ("both",) and entry and entry.axle_pair and self._axles and not where.positions and not entry.paired:
            sides, positions = (None,), ("front", "rear")
        return [
            Target(self._sided(base.model_copy(update={"position": position}), side, index), span)
            for position in positions
            for side in sides
        ]

    def _both_of_them(self, index: int) -> bool:
        tail = [item.text for item in self._row[index + 1 : index + 6]]
        return tail[:3] == [",", "both", "of"] or tail[:3] == ["both", "of", "them"]

    def _sided(self, place: Place, side: Side | None, index: int) -> Place:
        """The place with its side: said of it, else said in the sentence, else the part's, else the walk's."""
        entry = self._parts.get(place.part)
        said = side or self._sentence_side(index)
        here = self._cue(_THIS_SIDE)
        if said is None and here is not None and self._walk is not None and self._near(here, index):
            return place.model_copy(update={"side": self._walk, "side_basis": "inferred"})
        if said is not None:
            if entry and entry.one_side and self._walk is None and not place.position:
                pass
            return place.model_copy(update={"side": said, "side_basis": "spoken"})
        if entry is not None and entry.one_side and place.position != "rear":
            if self._walk is None:
                self._walk = entry.one_side
            return place.model_copy(update={"side": entry.one_side, "side_basis": "inferred"})
        if place.part == "other" or entry is None or entry.centre_line or self._walk is None:
            return place
        if place.part == "fender" and self._axles and place.position:
            return place
        return place.model_copy(update={"side": self._walk, "side_basis": "inferred"})

    def _near(self, cue: int, part: int) -> bool:
        """Whether no other part stands between a place word and a part it is said of."""
        low, high = sorted((cue, part))
        return not any(self._row[i].role == "part" for i in range(low + 1, high))

    def _detail(self, index: int) -> str | None:
        """Words that narrow the spot, right before or after the part."""
        row = self._row
        near = [*range(max(0, index - 4), index), *range(index + 1, min(len(row), index + 5))]
        found = [row[i].text for i in near if row[i].role == "detail"]
        return found[0] if found else None

    # --- flaws --------------------------------------------------------------------------------

    def _state(self, group: Group) -> Iterator[Flaw]:
        """The flaws that a group of flaws states, one for each place."""
        members = [
            i
            for i in group.members
            if self._row[i].role == "defect"
            and not self._mood[i] & Mood.DENIED
            and not (self._row[i].weak and not self._is_predicate(i))
        ]
        if not members:
            return
        parts = link(self._row, group, self._groups)
        if parts is not None and self._only_near(parts, group):
            parts = None
        if parts is None and all(self._row[i].weak for i in members) and not self._asserts(group):
            return
        targets = self._targets_of(parts) if parts else self._implied(group)
        targets = self._with_loose(group, parts, targets)
        for target in targets:
            for index in members:
                yield Flaw(
                    sentence=self._sentence,
                    defect=self._as_said_of(self._row[index], target.place.part),
                    target=target,
                    items=[index, *target.items],
                    doubted=bool(self._mood[index] & Mood.DOUBTED),
                    referred=self._is_referred(index),
                    definite=self._is_definite(index),
                    another=any(i.is_word(ANOTHER) for i in self._row[max(0, index - 4) : index]),
                )

    def _is_predicate(self, index: int) -> bool:
        """Whether a weak flaw word ("new", "stuck") is said of a thing: "is new", "a hole", "new tires"."""
        after = self._row[index + 1] if index + 1 < len(self._row) else None
        if after is not None and after.role == "part":
            return True
        before = self._row[index - 1] if index else None
        return before is None or before.role != "word" or before.is_word(
            HAVING | ADVERBS | FILLERS | words("a an any no some , : and or")
        )

    def _only_near(self, parts: Group, group: Group) -> bool:
        """Whether a part after a flaw only says where on "it" the flaw is: "it's peeling by the badge"."""
        if parts.first < group.last or not self._focus:
            return False
        between = self._row[group.last + 1 : parts.first]
        near = any(i.is_word(LANDMARKS) for i in between) and not any(
            i.is_word(PREPOSITIONS - LANDMARKS - words("to of up down")) for i in between
        )
        said_of_it = any(i.is_word(words("it's it")) for i in self._row[: group.first])
        return near and said_of_it

    def _without_mended(self, stated: list[Flaw]) -> list[Flaw]:
        """Leaves out flaws told as gone: "it had a crack, that has been repaired"."""
        mended = [f for f in stated if f.defect.id in _MENDED]
        if not mended:
            return stated
        return [
            flaw
            for flaw in stated
            if flaw.defect.id in _MENDED
            or not any(i.is_word(_PAST) for i in self._row[max(0, flaw.items[0] - 6) : flaw.items[0]])
            or not any(
                m.items[0] > flaw.items[0] and m.target.place.part == flaw.target.place.part
                for m in mended
            )
        ]

    def _as_said_of(self, defect: Item, part: str) -> Item:
        """The flaw that the word means on this part: "split" is a tear on a seat."""
        phrase = Phrase(defect.text, "defect", defect.id)
        return replace(defect, id=self._lexicon.defect_on(phrase, part))

    def _targets_of(self, parts: Group) -> list[Target]:
        return [target for i in parts.members for target in self._targets[i]]

    def _asserts(self, group: Group) -> bool:
        """Whether a flaw with no part in its sentence is said to be there: "it has", "there's a".

        Only little words may stand between the clause's start and the flaw; a strange one ("my dog
        chewed a hole") means that something else is told of.
        """
        start = group.first
        while start and not self._starts_clause(start):
            start -= 1
        opening = self._row[start : group.first]
        spoken = [item for item in opening if item.role == "word"]
        neutral = ARTICLES | DETERMINERS | ADVERBS
        content = [item for item in spoken if not item.is_word(neutral)]
        if content and content[-1].is_word(_GOVERNED - words("with")):
            return False
        return all(item.is_word(_ASSERTING) for item in spoken)

    def _starts_clause(self, index: int) -> bool:
        """Whether a clause starts at an index: after a mark, or after "and" with a subject of its own."""
        before = self._row[index - 1]
        if before.is_word(words("and")):
            return self._row[index].is_word(EXISTENTIALS | PRONOUNS | HAVING)
        return before.is_word(_CLAUSE_STARTS)

    def _implied(self, group: Group) -> list[Target]:
        """The places that a flaw with no part in its sentence is said of."""
        if not self._asserts(group) or self._row[-1].is_word(("?",)):
            return []
        recent = self._sentence - self._focus_sentence <= _FOCUS_SENTENCES
        if not recent or not self._focus:
            return []
        plural = any(item.is_word(PLURAL_PRONOUNS) for item in self._row[: group.first])
        focus = self._focus if plural else self._focus[-1:]
        if not plural and len(self._focus) > 1 and self._focus_sentence == self._sentence - 1:
            focus = self._focus[-1:]
        if self._cue(_OTHER_SIDE) is not None:
            focus = [_flipped(place) for place in focus]
        return [Target(_without_spot(place)) for place in focus]

    def _with_loose(self, group: Group, parts: Group | None, targets: list[Target]) -> list[Target]:
        """Adds a side or position said after the flaw ("a dent on the left side", "along the top")."""
        stop = min(
            (g.first for g in self._groups if g.first > group.last),
            default=len(self._row),
        )
        next_flaw = min((g.first for g in self._flaws_here if g.first > group.last), default=len(self._row))
        after = [i for i in self._loose if group.last < i < min(stop, next_flaw)]
        if parts is not None and parts.last < group.first:
            after += [i for i in self._loose if parts.last < i < group.first]
        if parts is None:
            after += [i for i in self._loose if i < group.first and self._row[i].role == "side"]
        placed = []
        for target in targets:
            place, items = target.place, list(target.items)
            for i in after:
                item = self._row[i]
                if item.role == "side" and place.side_basis != "spoken":
                    place = place.model_copy(update={"side": item.id, "side_basis": "spoken"})
                    items.append(i)
                elif item.role == "position" and place.position is None:
                    place = place.model_copy(update={"position": item.id})
                    items.append(i)
            placed.append(Target(place, items))
        return placed

    def _is_referred(self, index: int) -> bool:
        """Whether a flaw is one spoken of before: "that dent I mentioned"."""
        if self._cue(_AGAIN) is None:
            return False
        before = self._row[max(0, index - 4) : index]
        return any(i.is_word(words("the that this those these same again")) for i in before)

    def _is_definite(self, index: int) -> bool:
        """Whether "the" or "that" opens the flaw's noun phrase: likely one spoken of before."""
        for item in reversed(self._row[max(0, index - 4) : index]):
            if item.is_word(words("the that those")):
                return True
            plain = item.role in ("qualifier", "size", "detail", "part") or item.is_word(ADVERBS)
            if not plain:
                return False
        return False

    # --- degree -------------------------------------------------------------------------------

    def _degrees(self, stated: list[Flaw]) -> None:
        """Gives each qualifier, count, size and area of the sentence to the flaws it is said of."""
        own: dict[int, list[int]] = {}
        loose: list[int] = []
        ignored = {
            self._owner[i] for start, end in _NO_DENIAL.find(self._flat) for i in range(start, end)
        }
        defects = sorted({f.items[0] for f in stated})
        everything = {i for g in self._flaws_here for i in g.members}
        for index, item in enumerate(self._row):
            if item.role not in ("qualifier", "number", "size", "area") or index in ignored:
                continue
            ahead = self._ahead(index)
            if ahead is not None:
                if ahead in defects:
                    own.setdefault(ahead, []).append(index)
                elif ahead not in everything or item.role == "size":
                    loose.append(index)
            elif not self._before_part(index):
                loose.append(index)
        self._spread(own, defects)
        for index in loose:
            self._give_back(index, own, defects, stated)
        for flaw in stated:
            for index in own.get(flaw.items[0], ()):
                _add_degree(flaw, self._row[index], index)

    def _ahead(self, index: int) -> int | None:
        """The flaw whose noun phrase an amount or qualifier opens."""
        for i in range(index + 1, len(self._row)):
            item = self._row[i]
            if item.role == "defect":
                return i
            if item.role in ("qualifier", "number", "size", "area", "detail"):
                continue
            if item.is_word(("'s", "is", "are", "has")):
                return None
            if not item.is_word(ADVERBS | ARTICLES | words("of , in") - words("and or")):
                return None
            if item.is_word((",",)) and self._row[index].role != "qualifier":
                return None
        return None

    def _before_part(self, index: int) -> bool:
        """Whether a qualifier or number stands right before a part and so is said of that."""
        if self._row[index].role not in ("qualifier", "number"):
            return False
        after = self._row[index + 1] if index + 1 < len(self._row) else None
        return after is not None and after.role in ("part", "side", "position", "no_damage", "damage")

    def _spread(self, own: dict[int, list[int]], defects: list[int]) -> None:
        """Shares a qualifier over a list: "light scratches and scuffs"."""
        for group in self._flaws_here:
            for left, right in zip(group.members, group.members[1:], strict=False):
                if right in own or right not in defects or left not in own:
                    continue
                between = self._row[left + 1 : right]
                if any(item.is_word(ARTICLES) for item in between):
                    continue
                shared = [i for i in own[left] if self._row[i].role == "qualifier"]
                if shared:
                    own[right] = shared

    def _give_back(self, index: int, own: dict[int, list[int]], defects: list[int], stated: list[Flaw]) -> None:
        """Gives an amount or qualifier to the flaw before it, else after it, else the last one said."""
        item = self._row[index]
        if self._mood[index] & Mood.DENIED and item.role == "qualifier":
            return
        before = [d for d in defects if d < index]
        if before:
            group = next((g for g in self._flaws_here if before[-1] in g.members), None)
            members = [m for m in (group.members if group else ()) if m in before] or before[-1:]
            takers = members if self._said_of_all(index, members, own) else members[-1:]
            if item.role == "number" and not self._counts_back(index):
                return
            for taker in takers:
                own.setdefault(taker, []).append(index)
        elif defects:
            if item.role != "number":
                own.setdefault(defects[0], []).append(index)
        elif not stated and not self._groups and self._last_flaws and self._continues():
            if item.role != "number":
                for flaw in self._last_flaws[-1:]:
                    _add_degree(flaw, item, None)

    def _said_of_all(self, index: int, members: Sequence[int], own: dict[int, list[int]]) -> bool:
        """Whether a qualifier or area after a list is said of all of it, or of its last flaw alone."""
        if self._row[index].role not in ("qualifier", "area") or len(members) < 2:
            return False
        between = self._row[members[-1] + 1 : index]
        if any(item.is_word(PLURAL_PRONOUNS | words("all none")) for item in between):
            return True
        singular = any(item.is_word(words("that's that which it's it is")) for item in between[:3])
        article = any(
            item.is_word(ARTICLES) for item in self._row[members[-2] + 1 : members[-1]]
        )
        return not (singular or article or any(self._own_grade(own, m) for m in members))

    def _own_grade(self, own: dict[int, list[int]], defect: int) -> bool:
        return any(self._row[i].role == "qualifier" for i in own.get(defect, ()))

    def _counts_back(self, index: int) -> bool:
        """Whether a number after a flaw counts it: "chips, four of them", "scratches, or rather four"."""
        tail = [item.text for item in self._row[index + 1 : index + 3]]
        return tail in (["of", "them"], ["of", "those"], ["of", "em"], ["of", "'"]) or tail[:1] in (["total"], [","], ["."], [])

    def _continues(self) -> bool:
        """Whether a sentence with no flaw goes on about the last one: "It's about two inches long."."""
        return self._last_flaws[-1].sentence == self._sentence - 1 and len(self._row) <= 2 * _SHORT

    # --- same again, clean --------------------------------------------------------------------

    def _same(self, stated: list[Flaw]) -> list[Flaw]:
        """Copies what was said to the places of "so does the backrest", "same on the right"."""
        cue = self._cue(_SAME)
        if cue is None:
            cue = self._too(stated)
        if cue is None:
            return []
        praised = any(
            (item.role == "no_damage" and not self._mood[i] & Mood.DENIED)
            or (item.role in ("defect", "damage") and self._mood[i] & Mood.DENIED)
            for i, item in enumerate(self._row[:cue])
        )
        if praised and not stated:
            self._same_clean = [t for t in self._same_targets(cue, has_own=True) if t.items]
            return []
        said_after = [f for f in stated if f.items[0] > cue]
        if said_after:
            return []
        source = [f for f in stated if f.items[0] < cue] or self._recent_flaws()
        if not source:
            return []
        targets = self._same_targets(cue, bool(stated))
        copies = []
        for target in targets:
            for flaw in source:
                if _same_place(flaw.target.place, target.place):
                    continue
                copy = replace(
                    flaw, sentence=self._sentence, target=target, items=[*target.items, cue],
                    count=None, size_mm=None, area_pct=None, amount_said=[],
                    qualifiers=list(flaw.qualifiers), notes=[], referred=False,
                )  # fmt: skip
                copies.append(copy)
        return copies

    def _too(self, stated: list[Flaw]) -> int | None:
        """The cue of "..., and the tail light too": right after a part that no flaw is said of."""
        said_of = {i for flaw in stated for i in flaw.target.items}
        for start, _ in _TOO.find(self._flat):
            index = self._owner[start]
            groups = [g for g in self._groups if g.last < index]
            if not groups or groups[-1].last in said_of:
                continue
            between = self._row[groups[-1].last + 1 : index]
            plain = all(i.role in ("side", "position") or i.is_word(HAVING | DETERMINERS | PREPOSITIONS) for i in between)
            if plain and not any(f.items[0] > index for f in stated):
                return groups[-1].first - 1 if groups[-1].first else 0
        return None

    def _recent_flaws(self) -> list[Flaw]:
        if self._last_flaws and self._sentence - self._last_flaws[-1].sentence <= 2:
            return self._last_flaws
        return []

    def _same_targets(self, cue: int, has_own: bool) -> list[Target]:
        after = [g for g in self._groups if g.first > cue]
        before = [] if has_own else [g for g in self._groups if g.last < cue]
        for groups in (after, before):
            if groups:
                return [t for g in groups for t in self._targets_of(g)]
        focus = self._focus[-1:]
        if has_own and self._groups:
            focus = [t.place for t in self._targets_of(self._groups[-1])][-1:]
        sides = [i for i in self._loose if self._row[i].role == "side"]
        if sides and focus:
            place = focus[-1].model_copy(
                update={"side": self._row[sides[-1]].id, "side_basis": "spoken"}
            )
            return [Target(place, [sides[-1]])]
        positions = [i for i in self._loose if self._row[i].role == "position"]
        if positions and focus:
            place = focus[-1].model_copy(update={"position": self._row[positions[-1]].id})
            return [Target(place, [positions[-1]])]
        other = self._cue(_OTHER_SIDE)
        if other is not None and focus:
            return [Target(_flipped(focus[-1]), [other])]
        return []

    def _clean(self, stated: list[Flaw]) -> Iterator[Clean]:
        """The parts that the sentence calls free of damage."""
        seen: list[Place] = []
        for target in self._same_clean:
            seen.append(target.place)
            yield Clean(self._sentence, target, list(target.items))
        yield from self._denied_in_short(seen)
        for index, item in enumerate(self._row):
            praise = item.role == "no_damage" and not self._mood[index] & (Mood.DENIED | Mood.IMAGINED)
            denial = item.role in ("defect", "damage") and bool(self._mood[index] & Mood.DENIED)
            denial = denial and not self._mood[index] & Mood.IMAGINED
            if not praise and not denial:
                continue
            for target in self._clean_targets(index, stated):
                referred = any((f.referred or f.definite) and _same_place(f.target.place, target.place) for f in stated)
                if not referred and not any(_same_place(target.place, place) for place in seen):
                    seen.append(target.place)
                    yield Clean(self._sentence, target, [index, *target.items])

    def _denied_in_short(self, seen: list[Place]) -> Iterator[Clean]:
        """Parts denied the flaw just said of another: "the one on the left is not"."""
        for group in self._groups:
            rest = [i for i in self._row[self._spots[group.last].last + 1 :]]
            while rest and rest[0].is_word(LANDMARKS | words("it on here there over")):
                rest.pop(0)
            tail = [item.text for item in rest][:3]
            short = tail[:1] in (["isn't"], ["aren't"], ["hasn't"], ["doesn't"]) and len(tail) < 3
            if short or (tail[:2] in (["is", "not"], ["are", "not"], ["has", "not"], ["'s", "not"]) and tail[2:] in ([], ["."])):
                for target in self._targets_of(group):
                    seen.append(target.place)
                    yield Clean(self._sentence, target, list(target.items))

    def _clean_targets(self, index: int, stated: list[Flaw]) -> list[Target]:
        here = Group((index,))
        parts = link(self._row, here, self._groups)
        if parts is not None:
            return self._with_loose(here, parts, self._targets_of(parts))
        if self._groups:
            return []
        pronoun = any(
            item.is_word(words("it's they're that's"))
            or (item.is_word(words("it they this both these those that")) and self._row[i + 1].is_word(HAVING))
            for i, item in enumerate(self._row[:index])
            if i >= index - 5 and i + 1 < len(self._row)
        ) or any(
            item.is_word(words("it them")) for item in self._row[index + 1 : index + 4]
        )
        side = [i for i in self._loose if self._row[i].role == "side"]
        other = self._cue(_OTHER_SIDE)
        recent = self._focus and self._sentence - self._focus_sentence <= 1
        if not recent or stated:
            return []
        if other is not None:
            return [Target(_flipped(self._focus[-1]))]
        if not pronoun:
            return []
        focus = self._focus if any(i.is_word(PLURAL_PRONOUNS) for i in self._row) else self._focus[-1:]
        return self._with_loose(here, None, [Target(place) for place in focus]) if side else [Target(p) for p in focus]

    # --- memory -------------------------------------------------------------------------------

    def _remember(self, flaws: list[Flaw], cleaned: list[Clean]) -> None:
        self.said.flaws += flaws
        self.said.clean += cleaned
        if self._cue(_AGAIN) is not None and not flaws and not self._groups and self._flaws_here:
            self.said.unresolved.append(self._sentence)
        if flaws:
            self._last_flaws = flaws
        places: Iterable[Place] = ()
        if flaws and self._flaws_here:
            last = flaws[-1].items[0]
            places = [f.target.place for f in flaws if f.items[0] == last] or [flaws[-1].target.place]
        elif flaws:
            places = [flaws[-1].target.place]
        elif self._groups:
            places = [t.place for t in self._targets_of(self._groups[-1])]
        elif cleaned:
            places = [cleaned[-1].target.place]
        if places:
            self._focus = list(places)
            self._focus_sentence = self._sentence


def _between_has(row: Sequence[Item], left: Group, right: Group, wanted: frozenset[str]) -> bool:
    return any(item.is_word(wanted) for item in row[left.last + 1 : right.first])


def _without_spot(place: Place) -> Place:
    """The place without where on the part the last flaw was; front and rear tell parts apart."""
    if place.position in ("front", "rear", None):
        return place.model_copy(update={"detail": None})
    return place.model_copy(update={"position": None, "detail": None})


def _flipped(place: Place) -> Place:
    """The other one of a pair: the other side, or the other end where no side is known."""
    if place.side in OPPOSITE:
        update = {"side": OPPOSITE[place.side], "side_basis": "inferred"}
    elif place.position in OTHER_END:
        update = {"position": OTHER_END[place.position]}
    else:
        update = {}
    return place.model_copy(update=update)


def _same_place(a: Place, b: Place) -> bool:
    return (a.part, a.position, a.side) == (b.part, b.position, b.side)


def _add_degree(flaw: Flaw, item: Item, index: int | None) -> None:
    if item.role == "qualifier":
        flaw.qualifiers.append(int(item.id))
    elif item.role == "number":
        flaw.count = int(float(item.id))
    elif item.role == "size":
        value = float(item.id)
        flaw.size_mm = max(value, flaw.size_mm or 0.0)
        flaw.amount_said.append(item.text)
    elif item.role == "area":
        flaw.area_pct = float(item.id)
        flaw.amount_said.append(item.text)
    if index is not None:
        flaw.items.append(index)
