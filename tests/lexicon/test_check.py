from typing import Any

import pytest

from lexicon.check import faults
from lexicon.entries import CommonFile, ExtraFile, KindFile
from lexicon.join import Files

COMMON: dict[str, Any] = {
    "version": "1",
    "parts": {"seat": {"phrases": ["seat"], "area": "body", "materials": ["leather"]}},
    "defects": {
        "crack": {"nouns": ["crack", "split"], "group": "shape"},
        "tear": {"nouns": ["tear"], "group": "soft_goods"},
    },
    "words": {},
}
KIND: dict[str, Any] = {"kind": {"title": "Motorcycle", "cues": ["bike"], "checklist": ["seat"]}}


def found(common: dict[str, Any] | None = None, kind: dict[str, Any] | None = None) -> list[str]:
    files = Files(
        kind="motorcycle",
        common=CommonFile.model_validate(COMMON | (common or {})),
        kind_file=KindFile.model_validate(KIND | (kind or {})),
        extra=ExtraFile(),
        extra_name="",
    )
    return list(faults(files))


def test_files_in_order_have_no_faults() -> None:
    assert found() == []


def test_a_part_new_to_a_kind_needs_phrases_and_area() -> None:
    new = {"ski": {"phrases": ["ski"], "area": "front"}}
    assert found(kind={"parts": new}) == []


@pytest.mark.parametrize(
    ("common", "kind", "fault"),
    [
        (
            {},
            {"kind": {"title": "M", "cues": ["bike"], "checklist": ["seet"]}},
            "motorcycle.toml, kind.checklist: nothing has the id 'seet'; check the spelling",
        ),
        (
            {},
            {"leaves_out": ["hull"]},
            "motorcycle.toml, leaves_out: nothing has the id 'hull'; check the spelling",
        ),
        (
            {},
            {"parts": {"seet": {"paired": True}}},
            "motorcycle.toml, parts.seet: not a part of common.toml that this kind takes; "
            "check the spelling, or write its phrases and area",
        ),
        (
            {},
            {"parts": {"ski": {"phrases": ["ski", "seat!"], "area": "front"}}},
            "motorcycle.toml, parts.ski: 'seat' already stands for part 'seat' "
            "(common.toml, parts.seat); keep one of the two",
        ),
        (
            {"words": {"sides": {"left": ["left"], "right": ["left"]}}},
            {},
            "common.toml, words.sides.right: 'left' already stands for side 'left' "
            "(common.toml, words.sides.left); keep one of the two",
        ),
        (
            {
                "defects": {
                    "tear": {"nouns": ["tear"], "on": {"leather": ["rip"]}, "group": "soft_goods"}
                }
            },
            {},
            "common.toml, defects.tear.on.leather: 'rip' is no other flaw's word; "
            "write it under nouns or forms",
        ),
    ],
)
def test_faults_name_file_and_entry(
    common: dict[str, Any], kind: dict[str, Any], fault: str
) -> None:
    assert found(common, kind) == [fault]
