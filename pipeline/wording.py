"""Ids and figures of a finding as words for people: names, grades, sizes, one sentence.

A sentence says what the finding says and no more: a grade only where a speaker gave one, a number
only where one was spoken. Whatever stems from a recording passes through `plain`.
"""

import re
import unicodedata
from fractions import Fraction
from typing import Literal

from pipeline.models import (
    HEARD_AGAIN,
    LEARNED,
    CleanPart,
    Finding,
    Odometer,
    Position,
    Repair,
    Side,
    Vehicle,
)

Units = Literal["in", "mm"]

MM_PER_INCH = 25.4  # exactly, by the yard and pound agreement of 1 July 1959

# ISO 4628-1's words for the intensity of a change, and as adverbs for "slightly bent".
_GRADES = ("none", "very slight", "slight", "moderate", "considerable", "severe")
_DEGREES = ("", "very slightly", "slightly", "moderately", "considerably", "severely")

_KINDS = {
    "motorcycle": "motorcycle",
    "side_by_side": "side-by-side",
    "snowmobile": "snowmobile",
    "watercraft": "personal watercraft",
}

_AREAS = {
    "front": "Front end",
    "body": "Body and paint",
    "controls": "Controls",
    "lights_glass": "Lights and glass",
    "seating_luggage": "Seating and luggage",
    "engine": "Engine",
    "exhaust": "Exhaust",
    "frame": "Frame and guards",
    "running_gear": "Wheels and running gear",
    "electrical": "Electrical",
    "other": "Other parts",
}

_GROUPS = {
    "finish": "Paint and finish",
    "metal": "Rust and metal",
    "shape": "Dents, cracks and breaks",
    "soft_goods": "Seat, rubber and cloth",
    "general": "Wear and fit",
    "fluids": "Leaks",
    "history": "Earlier repairs",
    "other": "Other flaws",
}

# A machine has one of each, so a side or position says where on it, not which one.
_ONE_OF_A_KIND = frozenset(
    "fuel_tank seat passenger_seat backrest windshield hood hull deck tunnel roof cargo_bed engine "
    "radiator trunk luggage_rack frame subframe instrument display steering_wheel belly_pan "
    "skid_plate tail_section console track handlebar".split()
)
_SPOTS: dict[Position, str] = {
    "front": "front", "rear": "rear", "upper": "top", "lower": "underside", "inner": "inside",
    "outer": "outside", "center": "middle",
}  # fmt: skip

_PART_NAMES = {"a_arm": "A-arm", "cv_boot": "CV boot"}

# A flaw is a thing that can be counted, a substance, or a state that the part is in.
_COUNTED = {
    "scratch": "scratch",
    "scuff": "scuff",
    "chip": "chip",
    "swirl": "swirl mark",
    "blister": "blister",
    "paint_run": "paint run",
    "stain": "stain",
    "dent": "dent",
    "gouge": "gouge",
    "crack": "crack",
    "hole": "hole",
    "tear": "tear",
    "cut": "cut",
    "leak": "leak",
}
_STATES = {
    "bent": "bent",
    "broken": "broken",
    "melted": "melted",
    "worn_through": "worn through",
    "missing": "missing",
    "loose": "loose",
    "misaligned": "misaligned",
}
_DONE = {
    "repaint": "repainted",
    "touch_up": "touched up",
    "prior_repair": "repaired",
    "replaced_part": "replaced",
}
_NOUNS_OF_DONE = {
    "repaint": "repaint",
    "touch_up": "touch-up",
    "prior_repair": "earlier repair",
    "replaced_part": "replaced part",
}
_NOUNS = _COUNTED | _STATES | _NOUNS_OF_DONE

_UNSURE = "speaker_unsure"  # the flag of a finding that the speaker only supposed

_TERMINAL_ESCAPE = re.compile(r"\x1b(?:\[[0-?]*[ -/]*[@-~]|\][^\x07\x1b]*(?:\x07|\x1b\\)?|[0-~]?)")
_HIDDEN = {"Cc", "Cf", "Cs", "Zl", "Zp", "Zs"}


def plain(text: str) -> str:
    """Text on one line without anything that acts on a terminal or on the reading direction.

    Terminal escapes, control characters, bidirectional controls and other invisible marks go;
    every kind of space becomes one blank.

    >>> plain("bent\\x1b[31m \\u202erim\\n")
    'bent rim'
    """
    text = _TERMINAL_ESCAPE.sub("", text)
    shown = "".join(
        char
        if unicodedata.category(char) not in _HIDDEN
        else " "
        if char.isspace()
        else "\N{REPLACEMENT CHARACTER}"
        if unicodedata.category(char) == "Cs"
        else ""
        for char in text
    )
    return " ".join(shown.split())


def is_text(name: str) -> bool:
    """Whether a file's name can be written down: bytes that are no UTF-8 cannot."""
    return not any(unicodedata.category(char) == "Cs" for char in name)


def part_name(place: Finding | CleanPart) -> str:
    """The part with its place, as an ad would name it.

    >>> part_name(CleanPart(part="turn_signal", position="front", side="left", start_s=0, end_s=1))
    'left front turn signal'
    """
    name = bare_part_name(place.part)
    if place.part == "other":
        said = plain((place.part_said if isinstance(place, Finding) else None) or "")
        name = said or "unnamed part"
    elif place.part in _ONE_OF_A_KIND:
        return _spot_on(name, place.side, place.position)
    elif place.side == "both":
        name = _plural(name)
    return " ".join(filter(None, [place.side, place.position, name]))


def _spot_on(name: str, side: Side | None, position: Position | None) -> str:
    """Where on a thing there is only one of: "right side of the fuel tank"."""
    sides = {None: None, "both": "both sides", "left": "left side", "right": "right side"}
    spot, where = _SPOTS[position] if position else None, sides[side]
    if spot and where:
        return f"{spot} of the {name}, {where}"
    return f"{spot or where} of the {name}" if spot or where else name


def bare_part_name(part: str) -> str:
    """A part's id as words: "fuel_tank" is "fuel tank"."""
    return _PART_NAMES.get(part) or plain(part.replace("_", " "))


def defect_name(defect: str) -> str:
    """A flaw's id as words: "dry_rot" is "dry rot"."""
    return _NOUNS.get(defect) or plain(defect.replace("_", " "))


def grade_word(severity: int | None) -> str:
    """The grade 0 to 5 as a word; "not graded" where there is none.

    >>> grade_word(4)
    'considerable'
    """
    return "not graded" if severity is None else _GRADES[severity]


def kind_name(kind: str) -> str:
    """The kind of machine as words."""
    return _KINDS.get(kind) or plain(kind.replace("_", " "))


def area_name(area: str) -> str:
    """The heading for an area of the machine."""
    return _AREAS.get(area) or capitalised(plain(area.replace("_", " ")))


def area_order(area: str) -> int:
    """Where an area stands when a person walks down the list; unknown ones come last."""
    return list(_AREAS).index(area) if area in _AREAS else len(_AREAS)


def group_name(group: str) -> str:
    """The heading for a kind of flaw."""
    return _GROUPS.get(group) or capitalised(plain(group.replace("_", " ")))


def size_text(size_mm: float, units: Units) -> str:
    """A length in the reader's units: whole millimetres, or inches in the fractions of a tape.

    >>> size_text(57.15, "in"), size_text(57.15, "mm")
    ('2 1/4 in', '57 mm')
    """
    if units == "mm":
        return f"{round(size_mm)} mm" if size_mm >= 0.5 else "under 1 mm"
    inches = size_mm / MM_PER_INCH
    parts = 16 if inches < 1 else 8 if inches < 6 else 2 if inches < 24 else 1
    whole, rest = divmod(Fraction(round(inches * parts), parts), 1)
    if not whole and not rest:
        return "under 1/16 in"
    return " ".join(str(number) for number in (whole, rest) if number) + " in"


def odometer_text(odometer: Odometer) -> str:
    """Distance or running time: "12,400 mi"."""
    value = f"{odometer.value:,.1f}".removesuffix(".0")
    return f"{value} {odometer.unit}"


def vehicle_title(vehicle: Vehicle) -> str:
    """What the machine is called, as far as it was said: "2016 Fenwick Marlin 700"."""
    said = [str(vehicle.year or ""), plain(vehicle.make or ""), plain(vehicle.model or "")]
    kind = "machine" if vehicle.kind_basis == "default" else kind_name(vehicle.kind)
    return " ".join(filter(None, said)) or f"Used {kind}"


def sentence(finding: Finding, units: Units = "in") -> str:
    """What the finding says, in one line of plain trade English without a full stop.

    >>> sentence(Finding(id="F1", part="saddlebag", side="left", defect="scratch", severity=2,
    ...     severity_basis="spoken", count=3, size_mm=50.8, start_s=0, end_s=1, heard="",
    ...     read_as="", confidence=1))
    '3 slight scratches on the left saddlebag, the largest about 2 in'
    """
    place = part_name(finding)
    spot = f" ({plain(finding.detail)})" if finding.detail else ""
    grade = finding.severity if finding.severity_basis == "spoken" else None
    count = finding.count or 0
    if finding.defect in _STATES or finding.defect in _DONE:
        stated = _state(finding, place, grade or 0)
        said = f"{stated}{spot}" if count < 2 else f"{stated}{spot}, {count} of them"
    else:
        noun = defect_name(finding.defect)
        several = finding.defect in _COUNTED and (count > 1 or _plural(noun) in finding.read_as)
        words = [
            str(count) if count > 1 and several else "",
            grade_word(grade) if grade else "",
            _plural(noun) if several else noun,
        ]
        article = "" if finding.side == "both" else "the "
        said = f"{' '.join(filter(None, words))} on {article}{place}{spot}"
    doubt = ", the speaker was not sure" if _UNSURE in finding.flags else ""
    return capitalised(said + _amounts(finding, units) + doubt)


def counted(number: int, noun: str) -> str:
    """A number with its noun: "1 finding", "2 findings"."""
    return f"{number} {noun if number == 1 else _plural(noun)}"


def capitalised(text: str) -> str:
    """The text with a capital first letter, the rest as it is."""
    return text[:1].upper() + text[1:]


def _state(finding: Finding, place: str, grade: int) -> str:
    several = finding.side == "both" or place.endswith("spokes")
    if finding.defect in _DONE:
        return f"{place} {'have' if several else 'has'} been {_DONE[finding.defect]}"
    degree = _DEGREES[grade] if finding.defect != "missing" else ""
    verb = "are" if several else "is"
    return " ".join(filter(None, [place, verb, degree, _STATES[finding.defect]]))


def _amounts(finding: Finding, units: Units) -> str:
    amounts = ""
    if finding.size_mm:
        largest = "the largest " if (finding.count or 0) > 1 else ""
        amounts += f", {largest}about {size_text(finding.size_mm, units)}"
    if finding.area_pct:
        amounts += f", over about {finding.area_pct:g}% of it"
    return amounts


def _plural(noun: str) -> str:
    if noun.endswith("spokes"):
        return noun
    if noun.endswith(("s", "x", "ch", "sh")):
        return f"{noun}es"
    if noun.endswith("y") and noun[-2:-1] not in "aeiou":
        return f"{noun[:-1]}ies"
    return f"{noun}s"


def sure(probability: float) -> str:
    """A probability in percent, 99 at most: nobody is certain of what was said.

    >>> sure(0.874), sure(0.998)
    ('87%', '99%')
    """
    return f"{min(round(probability * 100), 99)}%"


def repair_text(repair: Repair) -> str:
    """Why words are read, or might be read, as others, in one line."""
    heard, read_as = plain(repair.heard), plain(repair.read_as)
    if repair.role == HEARD_AGAIN:
        why = f'"{heard}" was "{read_as}" to the second listener'
    elif repair.role == LEARNED:
        why = f'Reviewers have read "{heard}" as "{read_as}" before'
    else:
        why = f'"{heard}" sounds like "{read_as}" (distance {repair.distance:.2f})'
    if repair.margin is not None:
        which = "this" if repair.margin >= 0 else "what was heard"
        why += f"; the recording prefers {which} by {abs(repair.margin):.1f} nats"
    return f"{why}; {sure(repair.probability)} sure, {'taken' if repair.taken else 'not taken'}"
