"""Joins the common file, a kind's file and a shop's own into one kind's entries and phrases."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import chain
from typing import NamedTuple

from lexicon.entries import (
    CommonFile,
    DefectEntry,
    ExtraFile,
    KindFile,
    PartChange,
    PartEntry,
    WordsEntry,
)
from lexicon.expand import OTHER, Phrase, Role, expand, spellings
from lexicon.read import COMMON


class Group(NamedTuple):
    """Phrases as written in one place ("common.toml, parts.seat") for one id."""

    where: str
    role: Role
    id: str
    written: list[str]
    inflect: bool

    def phrases(self) -> list[Phrase]:
        """The surface forms."""
        return expand(self.written, self.role, self.id, inflect=self.inflect)


@dataclass(frozen=True)
class Files:
    """The files that make one kind's lexicon, each valid by itself, perhaps not together."""

    kind: str
    common: CommonFile
    kind_file: KindFile
    extra: ExtraFile
    extra_name: str

    @property
    def kind_name(self) -> str:
        """The name of the kind's file."""
        return f"{self.kind}.toml"

    def taken(self) -> dict[str, PartEntry]:
        """The common parts that this kind has."""
        left_out = set(self.kind_file.leaves_out)
        return {id_: part for id_, part in self.common.parts.items() if id_ not in left_out}

    def parts(self) -> dict[str, PartEntry]:
        """All parts of the kind: the common ones as it changes them, its own, and the shop's."""
        parts = self.taken()
        for id_, change in self.kind_file.parts.items():
            parts[id_] = _changed(parts.get(id_), change)
        parts |= self.extra.parts
        for id_, phrases in self.extra.part_phrases.items():
            if id_ in parts:
                parts[id_] = _changed(parts[id_], PartChange(phrases=phrases))
        return parts

    def defects(self) -> dict[str, DefectEntry]:
        """All flaws, the shop's phrases among their nouns."""
        return {
            id_: entry.model_copy(
                update={"nouns": [*entry.nouns, *self.extra.defect_phrases.get(id_, [])]}
            )
            for id_, entry in self.common.defects.items()
        }

    def groups(self) -> Iterator[Group]:
        """All that is written, place by place: the common file, the kind's, the shop's."""
        has = self.taken().keys() | self.kind_file.parts.keys() | self.extra.parts.keys()
        told = {id_: p for id_, p in self.extra.part_phrases.items() if id_ in has}
        return chain(
            _parts(f"{COMMON}, parts", {i: p.phrases for i, p in self.taken().items()}),
            _defects(f"{COMMON}, defects", self.common.defects),
            _words(f"{COMMON}, words", self.common.words),
            _parts(
                f"{self.kind_name}, parts", {i: p.phrases for i, p in self.kind_file.parts.items()}
            ),
            _words(f"{self.kind_name}, words", self.kind_file.words),
            _parts(
                f"{self.extra_name}, parts", {i: p.phrases for i, p in self.extra.parts.items()}
            ),
            _parts(f"{self.extra_name}, part_phrases", told),
            (
                Group(f"{self.extra_name}, defect_phrases.{id_}", "defect", id_, phrases, True)
                for id_, phrases in self.extra.defect_phrases.items()
            ),
        )


def _changed(part: PartEntry | None, change: PartChange) -> PartEntry:
    """A part with a kind's change: phrases added, other fields replaced; a new part if none."""
    given = change.model_dump(exclude_unset=True)
    if part is None:
        return PartEntry.model_validate(given)
    return part.model_copy(update=given | {"phrases": [*part.phrases, *change.phrases]})


def _parts(where: str, parts: Mapping[str, list[str]]) -> Iterator[Group]:
    for id_, phrases in parts.items():
        yield Group(f"{where}.{id_}", "part", id_, phrases, inflect=True)


def _defects(where: str, defects: Mapping[str, DefectEntry]) -> Iterator[Group]:
    for id_, entry in defects.items():
        yield Group(f"{where}.{id_}", "defect", id_, entry.nouns, inflect=True)
        yield Group(f"{where}.{id_}", "defect", id_, entry.forms, inflect=False)


def _words(where: str, words: WordsEntry) -> Iterator[Group]:
    yield Group(f"{where}.things", "part", OTHER, words.things, inflect=True)
    for group, things in words.caution_things.items():
        yield Group(f"{where}.caution_things.{group}", "part", OTHER, things, inflect=True)
    for grade, phrases in words.qualifiers.items():
        yield Group(f"{where}.qualifiers.{grade}", "qualifier", grade, phrases, inflect=False)
    for position, phrases in words.positions.items():
        yield Group(f"{where}.positions.{position}", "position", position, phrases, inflect=False)
    for side, phrases in words.sides.items():
        yield Group(f"{where}.sides.{side}", "side", side, phrases, inflect=False)
    for detail in words.details:
        yield Group(f"{where}.details", "detail", spellings(detail)[0], [detail], inflect=True)
    for phrase in words.no_damage:
        yield Group(f"{where}.no_damage", "no_damage", spellings(phrase)[0], [phrase], False)
    for phrase in words.damage:
        yield Group(f"{where}.damage", "damage", spellings(phrase)[0], [phrase], inflect=False)
