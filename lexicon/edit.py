"""Phrases put into a shop's own lexicon file and taken out again. Pure, from text to text.

Whatever else stands in the file, comments and order too, stays as it is.
"""

from typing import Literal

import tomlkit

from lexicon.expand import spellings

Table = Literal["part_phrases", "defect_phrases"]
_TABLES: tuple[Table, ...] = ("part_phrases", "defect_phrases")


def with_phrase(text: str, table: Table, id_: str, phrase: str) -> str:
    """The text of a file with a phrase more for an id; it may be a file yet to be made, "".

    >>> with_phrase('version = "7"', "part_phrases", "seat", "sofa")
    'version = "7"\\n\\n[part_phrases]\\nseat = ["sofa"]\\n'
    """
    document = tomlkit.parse(text)
    if table not in document:
        document[table] = tomlkit.table()
    ids = document[table]
    ids.setdefault(id_, [])
    if phrase not in ids[id_]:
        ids[id_].append(phrase)
    return _ended(document)


def without_phrase(text: str, phrase: str) -> str:
    """The text of a file without a phrase, in whatever spelling it is written there."""
    document = tomlkit.parse(text)
    for ids in (document[table] for table in _TABLES if table in document):
        for id_ in list(ids):
            for written in [one for one in ids[id_] if spellings(phrase)[0] in spellings(one)]:
                ids[id_].remove(written)
            if not ids[id_]:
                del ids[id_]
    return _ended(document)


def _ended(document: tomlkit.TOMLDocument) -> str:
    return tomlkit.dumps(document).rstrip("\n") + "\n"
