"""Findings that can hurt someone: who should look before the machine is ridden.

Which flaws on which parts is common practice of the trade (from memory), held as data in the
lexicon (`caution`, `caution_on`). Wearword describes what was said; it never calls a machine safe.
"""

from lexicon.load import Lexicon

_WHY = {
    "brakes": "the brakes",
    "tires": "a tire",
    "wheels": "a wheel",
    "fork": "the fork",
    "frame": "the frame or swingarm",
    "steering": "the steering",
    "fuel": "the fuel system",
    "throttle": "the throttle",
    "drive": "the drive train",
    "lights": "the lights",
    "hull": "the hull",
}


def caution(lexicon: Lexicon, part: str, defect: str, said: str | None) -> str | None:
    """Why a qualified technician should look first, or None; `said` names a part `other`."""
    place, flaw = lexicon.parts.get(part), lexicon.defects.get(defect)
    group = place.caution if place else lexicon.thing_cautions.get((said or "").lower())
    if flaw is None or group is None:
        return None
    if group not in flaw.caution_on and "*" not in flaw.caution_on:
        return None
    return (
        f"This concerns {_WHY[group]}: have a qualified technician inspect it before the "
        "machine is ridden. A spoken walkaround is no safety inspection."
    )
