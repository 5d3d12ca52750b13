"""Pieces of a part named in short: "the cable" of a winch, "the boots" of a fork."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from pipeline.understand.plain import words
from pipeline.understand.terms import Item

_OWNING = words("'s is are has have")
_POINTING = words("the this that its")
_CLAUSE_STARTS = words(", . ; : and but")
_PIECE_OF = words("of on")


def read_pieces(row: list[Item], names: Mapping[str, str]) -> None:
    """Gives each piece the part that it is a piece of, by the lexicon's names of parts."""
    _read_pieces(row, names)
    _read_pieces_of(row, names)
    _read_short_names(row)


def _read_pieces(row: list[Item], names: Mapping[str, str]) -> None:
    """Takes "the cable" for the winch's where the lexicon has a "winch cable" and it was named."""
    whole: Item | None = None
    for index, item in enumerate(row):
        if item.role == "detail" and whole is not None and _is_subject(row, index):
            piece = names.get(f"{whole.text.removesuffix('s')} {item.text}")
            if piece not in (None, whole.id):  # "the fork is dry, the boots are cracked"
                row[index] = replace(item, role="part", id=piece)
            continue
        if item.role != "part":
            continue
        if whole is not None and item.id != whole.id and _is_piece(row, index, whole, names):
            row[index] = replace(item, id=whole.id)
        else:
            whole = item


def _read_pieces_of(row: list[Item], names: Mapping[str, str]) -> None:
    """Takes "the wrap on the steering wheel" for a piece of the wheel, which has a "wheel wrap"."""
    for index in range(len(row) - 3):
        piece, whole = row[index], row[index + 3]
        linked = row[index + 1].is_word(_PIECE_OF) and row[index + 2].is_word(_POINTING)
        if whole.role != "part" or not linked or piece.id == whole.id:
            continue
        if piece.role in ("part", "detail"):
            last = whole.text.split(" ")[-1].removesuffix("s")
            named = names.get(f"{last} {piece.text}") or names.get(f"{last} {piece.text[:-1]}")
            if named is not None and (piece.role == "part" or named != whole.id):
                row[index] = replace(piece, role="part", id=named)


def _read_short_names(row: list[Item]) -> None:
    """Takes "the panel" for the side panel that was named before it."""
    named: dict[str, str] = {}
    for index, item in enumerate(row):
        if item.role == "part":
            _, long, last = item.text.rpartition(" ")
            if long:
                named[last] = item.id
        elif item.text in named and item.role in ("word", "detail") and _is_subject(row, index):
            row[index] = replace(item, role="part", id=named[item.text])


def _is_subject(row: Sequence[Item], index: int) -> bool:
    """Whether a clause opens with an item and a verb follows: ", the boots are"."""
    first = index - 1 if index and row[index - 1].is_word(_POINTING) else index
    opens = first > 0 and row[first - 1].is_word(_CLAUSE_STARTS)
    after = [item for item in row[index + 1 : index + 3] if not item.is_word(("itself",))][:1]
    return opens and bool(after) and after[0].text.split(" ")[0] in _OWNING


def _is_piece(row: Sequence[Item], index: int, whole: Item, names: Mapping[str, str]) -> bool:
    item = row[index]
    first = whole.text.split(" ")[0]
    either = (f"{name.removesuffix('s')} {item.text}" for name in (whole.text, first))
    return any(names.get(name) == whole.id for name in either)
