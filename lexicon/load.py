"""The lexicon of one kind of machine, joined from its files and checked."""

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path

from lexicon.check import faults
from lexicon.entries import (
    CautionGroup,
    DefectEntry,
    ExtraFile,
    KindEntry,
    Material,
    PartEntry,
)
from lexicon.errors import LexiconError
from lexicon.expand import OTHER, Phrase, expand, spellings
from lexicon.join import Files
from lexicon.read import (
    COMMON,
    FileText,
    common_file,
    data_text,
    extra_text,
    kind_file,
    kinds,
    validated,
)

__all__ = [
    "FileText",
    "Lexicon",
    "LexiconError",
    "Phrase",
    "extra_text",
    "faults_with",
    "kind_cues",
    "kinds",
    "lint",
    "load_lexicon",
    "phrases_in",
]


@dataclass(frozen=True)
class Lexicon:
    """The trade's words for one kind of machine, expanded.

    `phrases` holds each (role, text) once. `on_material` has the words that mean another flaw on
    parts chiefly of one material: ("split", "leather") -> "tear". `thing_cautions` has the caution
    group of things that are no part ("jet pump"). `sizes_mm` has a thing's largest dimension in
    millimetres. `hotwords` are terms worth telling the recogniser, best first.
    `version` says which words of ours are in it, and `shop` which of a shop's own file, if any: a
    file's own version and the start of the SHA-256 over the text, "1+5d41402abc4b".
    """

    kind: str
    version: str
    shop: str | None
    kind_entry: KindEntry
    parts: dict[str, PartEntry]
    defects: dict[str, DefectEntry]
    phrases: tuple[Phrase, ...]
    on_material: dict[tuple[str, Material], str]
    thing_cautions: dict[str, CautionGroup]
    sizes_mm: dict[str, float]
    hotwords: tuple[str, ...]

    @cached_property
    def part_names(self) -> dict[str, str]:
        """The part that each phrase for one stands for."""
        return {phrase.text: phrase.id for phrase in self.phrases if phrase.role == "part"}

    @cached_property
    def part_ends(self) -> dict[str, str]:
        """The position that a phrase names which names a part too: "bow", hull or front."""
        names = self.part_names
        return {p.text: p.id for p in self.phrases if p.role == "position" and p.text in names}

    def defect_on(self, phrase: Phrase, part: str) -> str:
        """The id of the flaw that a defect's phrase means when said of a part.

        "Split" is a crack, but on a seat a tear. A part that the lexicon lacks changes nothing.
        """
        entry = self.parts.get(part)
        chief = entry.materials[0] if entry and entry.materials else None
        return self.on_material.get((phrase.text, chief), phrase.id) if chief else phrase.id


@lru_cache
def kind_cues() -> dict[str, tuple[str, ...]]:
    """For each kind, the words that give it away, in lower case."""
    return {kind: tuple(kind_file(kind).kind.cues) for kind in kinds()}


def load_lexicon(kind: str, extra: FileText | None = None) -> Lexicon:
    """The lexicon of a kind, with a shop's own file folded in; kept for the next call.

    Raises `LexiconError` for an unknown kind, and for a shop's file that is wrong.
    """
    if kind not in kinds():
        raise LexiconError(f"no lexicon for the kind '{kind}'; there are: {', '.join(kinds())}")
    return _load(kind, extra)


def lint(target: str | Path) -> list[str]:
    """Every fault of a kind's lexicon (given its name) or of a shop's own file (given its path)."""
    try:
        if target in kinds():
            return list(faults(_files(str(target), None)))
        return faults_with(extra_text(Path(target)))
    except LexiconError as error:
        return list(error.faults)


def faults_with(extra: FileText) -> list[str]:
    """Every fault that a shop's own file has or brings into the lexicon of any kind.

    Raises `LexiconError` where it is no such file at all.
    """
    found = (fault for kind in kinds() for fault in faults(_files(kind, extra)))
    return list(dict.fromkeys(found))


def phrases_in(extra: FileText) -> list[tuple[str, str]]:
    """The phrases that a shop's own file has for known ids, each with its id, as they stand there.

    Raises `LexiconError` where it is no such file.
    """
    file = validated(extra, ExtraFile)
    tables = (file.part_phrases, file.defect_phrases)
    return [(phrase, id_) for table in tables for id_, own in table.items() for phrase in own]


def _files(kind: str, extra: FileText | None) -> Files:
    return Files(
        kind=kind,
        common=common_file(),
        kind_file=kind_file(kind),
        extra=validated(extra, ExtraFile) if extra else ExtraFile(),
        extra_name=extra.name if extra else "",
    )


@lru_cache(maxsize=16)
def _load(kind: str, extra: FileText | None) -> Lexicon:
    files = _files(kind, extra)
    if found := list(faults(files)):
        raise LexiconError(*found)
    own, common = files.kind_file.words, files.common.words
    return Lexicon(
        kind=kind,
        version=_stamp(files.common.version, data_text(COMMON), data_text(files.kind_name)),
        shop=_stamp(files.extra.version, extra) if extra else None,
        kind_entry=files.kind_file.kind,
        parts=files.parts(),
        defects=files.defects(),
        phrases=_unique(phrase for group in files.groups() for phrase in group.phrases()),
        on_material={
            (text, material): id_
            for id_, entry in files.common.defects.items()
            for material, written in entry.on.items()
            for phrase in written
            for text in spellings(phrase)
        },
        thing_cautions={
            phrase.text: group
            for words in (common, own)
            for group, things in words.caution_things.items()
            for phrase in expand(things, "part", OTHER, inflect=True)
        },
        sizes_mm={
            text: size
            for thing, size in (common.sizes_mm | own.sizes_mm).items()
            for text in spellings(thing)
        },
        hotwords=tuple(dict.fromkeys([*own.hotwords, *common.hotwords])),
    )


def _unique(phrases: Iterable[Phrase]) -> tuple[Phrase, ...]:
    """Each text once within a role: "leaks" is the plural of a noun before it is a verb's form."""
    first: dict[tuple[str, str], Phrase] = {}
    for phrase in phrases:
        first.setdefault((phrase.role, phrase.text), phrase)
    return tuple(first.values())


def _stamp(version: str, *files: FileText) -> str:
    text = "\0".join(file.text for file in files)
    return f"{version}+{hashlib.sha256(text.encode()).hexdigest()[:12]}"
