"""Faults that show only once the files are joined: one line each, naming file and entry."""

from collections.abc import Iterable, Iterator

from lexicon.expand import Phrase, spellings, well_formed
from lexicon.join import Files, Group
from lexicon.read import COMMON, kind_file, kinds


def faults(files: Files) -> Iterator[str]:
    """Every fault of one kind's joined files."""
    yield from _malformed(files.groups())
    yield from _unknown_ids(files)
    yield from _incomplete_parts(files)
    yield from _doubles(files.groups())
    yield from _unreachable(files)


def _malformed(groups: Iterable[Group]) -> Iterator[str]:
    for group in groups:
        for phrase in group.written:
            if not well_formed(phrase):
                yield (
                    f"{group.where}: '{phrase}' is not a phrase; write lower-case words without "
                    "hyphens, one space or ~ between them, then ! and ? if any"
                )


def _unknown_ids(files: Files) -> Iterator[str]:
    common = set(files.common.parts)
    elsewhere = common.union(*(kind_file(kind).parts for kind in kinds()))
    own = files.taken().keys() | files.kind_file.parts.keys()
    with_shops = own | files.extra.parts.keys()
    extra = files.extra_name
    rows: tuple[tuple[str, Iterable[str], set[str]], ...] = (
        (f"{files.kind_name}, leaves_out", files.kind_file.leaves_out, common),
        (f"{files.kind_name}, kind.checklist", files.kind_file.kind.checklist, own),
        (f"{extra}, part_phrases", files.extra.part_phrases, elsewhere | with_shops),
        (f"{extra}, defect_phrases", files.extra.defect_phrases, set(files.common.defects)),
    )
    for where, ids, known in rows:
        for id_ in ids:
            if id_ not in known:
                yield f"{where}: nothing has the id '{id_}'; check the spelling"
    for id_ in files.extra.parts:
        if id_ in elsewhere:
            yield f"{extra}, parts.{id_}: the lexicon has it; write its words under part_phrases"


def _incomplete_parts(files: Files) -> Iterator[str]:
    taken = files.taken()
    for id_, change in files.kind_file.parts.items():
        if id_ not in taken and not (change.phrases and change.area):
            yield (
                f"{files.kind_name}, parts.{id_}: not a part of {COMMON} that this kind takes; "
                "check the spelling, or write its phrases and area"
            )


def _doubles(groups: Iterable[Group]) -> Iterator[str]:
    first: dict[tuple[str, str], tuple[str, Phrase]] = {}
    for group in groups:
        for phrase in group.phrases():
            where, earlier = first.setdefault((phrase.role, phrase.text), (group.where, phrase))
            if earlier.id != phrase.id:
                fault = f"already stands for {earlier.role} '{earlier.id}'"
            elif earlier.weak != phrase.weak:
                fault = "is both weak and not weak"
            else:
                continue
            yield f"{group.where}: '{phrase.text}' {fault} ({where}); keep one of the two"


def _unreachable(files: Files) -> Iterator[str]:
    """Words for a flaw on one material are met only where they are a flaw's words already."""
    known = {
        phrase.text
        for group in files.groups()
        if group.role == "defect"
        for phrase in group.phrases()
    }
    for id_, entry in files.common.defects.items():
        for material, written in entry.on.items():
            for phrase in written:
                if not known.issuperset(spellings(phrase)):
                    yield (
                        f"{COMMON}, defects.{id_}.on.{material}: '{phrase}' is no other flaw's "
                        "word; write it under nouns or forms"
                    )
