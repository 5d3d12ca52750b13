"""Self-corrections: "on the left, sorry, right side" withdraws what the speaker took back."""

from dataclasses import replace

from spacy.language import Language
from spacy.tokens import Doc

from pipeline.understand.amounts import UNITS_MM
from pipeline.understand.phrasing import PhraseSet, flat_words
from pipeline.understand.plain import words
from pipeline.understand.talk import CORRECTIONS
from pipeline.understand.terms import Item

_PAUSES = words("uh um er")
_CUES = PhraseSet(CORRECTIONS)
_REACH_BACK = 8
_REACH_FORWARD = 6
# These correct only when set off by a mark before them: "no" and "rather" have other uses.
_NEED_MARK = words("no rather actually wait again")
_CORRECTABLE = frozenset(
    ("side", "position", "part", "defect", "size", "number", "qualifier", "area")
)
_AMOUNTS = frozenset(("size", "number", "qualifier", "area"))
_MARKS = words(", . ; : - … —")
_GOING_ON = words("so and but which because")
_OF_THE = words("the of")
_LEADING = ("side", "position", "number")
_TOLD_ANEW = ("side", "number")
_WITHDRAWN = "~"


@Language.component("corrections", requires=["doc._.items"], assigns=["doc._.items"])
def corrections(doc: Doc) -> Doc:
    """Turns each withdrawn item into a word that means nothing."""
    for row in doc._.items:
        flat, owner = flat_words(row)
        _withdraw_before_filler(row)
        for start, end in _CUES.find(flat):
            cue_first, cue_last = owner[start], owner[end - 1]
            single = end - start == 1
            if single and row[cue_first].role == "no_damage":
                continue  # "headlight, no complaints"
            if single and flat[start] in _NEED_MARK and not _marked(row, cue_first):
                continue
            if single and _goes_on(row, cue_last + 1):
                continue
            if flat[start:end] == ["i", "mean"] and _is_led_in(row, cue_first):
                continue
            if single and flat[start] == "no" and not _marked(row, cue_last + 2):
                continue
            if _withdraw(row, cue_first, cue_last):
                _close_up(row, cue_last + 1)
                for index in range(cue_first, cue_last + 1):
                    row[index] = replace(row[index], role="word", id=_WITHDRAWN, text=_WITHDRAWN)
    return doc


def _close_up(row: list[Item], first: int) -> None:
    """Joins what is said anew to what follows: "rear, I mean front, fender"."""
    for index in range(first, len(row) - 2):
        if row[index].role in _LEADING:
            if row[index + 1].is_word((",",)) and row[index + 2].role in ("part", "defect"):
                row[index + 1] = replace(row[index + 1], id=_WITHDRAWN, text=_WITHDRAWN)
            return


def _withdraw_before_filler(row: list[Item]) -> None:
    """Withdraws the first of two parts with but a pause between: "engine, uh, clutch cover"."""
    if not any(item.id in _PAUSES for item in row):
        return
    for index in range(1, len(row) - 3):
        pause = row[index : index + 3]
        hesitates = (
            pause[0].is_word((",",)) and pause[1].is_word(_PAUSES) and pause[2].is_word((",",))
        )
        after = index + 3
        while after < len(row) and (
            row[after].role in ("side", "position") or row[after].is_word(_OF_THE)
        ):
            after += 1
        if not hesitates or after == len(row) or row[index - 1].role != "part":
            continue
        anew = after == index + 3 or row[after].id == row[index - 1].id
        if row[after].role == "part" and anew:
            row[index - 1] = replace(row[index - 1], role="word", id=_WITHDRAWN, text=_WITHDRAWN)


def _goes_on(row: list[Item], index: int) -> bool:
    """Whether the talk but goes on after a cue: "pretty bad, actually, so I'd ..."."""
    after = row[index : index + 2]
    return len(after) == 2 and after[0].is_word(_MARKS) and after[1].is_word(_GOING_ON)


def _is_led_in(row: list[Item], index: int) -> bool:
    """Whether a word leads on to a cue: "which, I mean, it sat outside"."""
    before = [item for item in row[max(0, index - 2) : index] if not item.is_word(_MARKS)]
    return bool(before) and before[-1].is_word(_GOING_ON)


def _marked(row: list[Item], index: int) -> bool:
    """Whether a mark stands right before an index."""
    return 0 < index <= len(row) and row[index - 1].is_word(_MARKS)


def _is_told_anew(row: list[Item], cue_first: int, cue_last: int) -> bool:
    """Whether part and flaw are both said again: "left grip's worn, no, right grip's worn"."""
    before = {(item.role, item.id) for item in row[max(0, cue_first - _REACH_BACK) : cue_first]}
    after = row[cue_last + 1 : cue_last + 1 + _REACH_FORWARD]
    again = {item.role for item in after if (item.role, item.id) in before}
    return {"part", "defect"} <= again


def _measures(row: list[Item], start: int, size: Item) -> bool:
    """Gives the next number the unit of the length said before it; says whether it did.

    What counts something is no length: "two inches, sorry, two of them".
    """
    unit = size.text.split(" ")[-1]
    at = next(i for i in range(start, len(row)) if row[i].role == "number")
    ends = at + 1 == len(row) or row[at + 1].is_word(_MARKS)
    if size.role != "size" or unit not in UNITS_MM or not ends:
        return False
    length_mm = round(float(row[at].id) * UNITS_MM[unit], 4)
    row[at] = replace(row[at], role="size", id=str(length_mm), text=f"{row[at].text} {unit}")
    return True


def _withdraw(row: list[Item], cue_first: int, cue_last: int) -> bool:
    """Withdraws what stands before the cue and is said anew after it; says whether any was."""
    anew: dict[str, str] = {}
    for item in row[cue_last + 1 : cue_last + 1 + _REACH_FORWARD]:
        if item.role in _CORRECTABLE:
            anew.setdefault(item.role, item.text)
        elif anew:
            break
    after = [item.id for item in row[cue_last + 1 : cue_last + 5] if not item.is_word(_MARKS)]
    before = {item.text for item in row[max(0, cue_first - _REACH_BACK) : cue_first]}
    named_again = any(  # "it's torn, but I mean, it's a snow flap"
        item.role == "part" and item.text in before for item in row[cue_last + 1 : cue_last + 5]
    )
    said_last = next(
        (i for i in reversed(row[:cue_first]) if not i.is_word(_MARKS | _NEED_MARK)), None
    )
    if said_last is not None and said_last.role == "number" and "number" in anew:
        anew = {"number": anew["number"]}  # "it has two, no, three scratches"
    if "number" in anew and said_last is not None and _measures(row, cue_last + 1, said_last):
        anew = {"size": ""}  # "two inches, no, more like three"
    amount = not anew.keys().isdisjoint(_AMOUNTS)
    renamed = after[:1] in (["that's"], ["it's"]) and after[1:2] != ["what"]
    renamed &= "side" not in anew and not any(verb.endswith("ed") for verb in after[1:2])
    if renamed and "defect" not in anew and not amount and not named_again:
        anew["defect"] = ""  # "a tear, no wait, that's just dirt"
    wanted = set(anew)
    told_anew = _is_told_anew(row, cue_first, cue_last) and not wanted.isdisjoint(_TOLD_ANEW)
    if told_anew:
        wanted.add("defect")
    for index in range(cue_first - 1, max(-1, cue_first - 1 - _REACH_BACK), -1):
        item = row[index]
        if item.role == "number" and "size" in wanted and index >= cue_first - 2:
            row[index] = replace(item, role="word", id=_WITHDRAWN, text=_WITHDRAWN)
            wanted.discard("size")  # "about two, no, three inches"
        elif item.role in wanted:
            wanted.discard(item.role)
            # What is said again is not taken back, but "two chips, correction, three chips" is.
            other_amount = item.role == "defect" and amount
            if told_anew or item.text != anew[item.role] or other_amount:
                row[index] = replace(item, role="word", id=_WITHDRAWN, text=_WITHDRAWN)
        if not wanted:
            break
    return len(wanted) < len(anew)
