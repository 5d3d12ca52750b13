from collections.abc import Callable
from pathlib import Path

import pytest

from pipeline.models import Record
from pipeline.publish.handover import GENERAL_CAUTION, Handover
from pipeline.publish.listing import TEXTS, listing_texts

HandoverOf = Callable[..., Handover]


def test_the_long_text_is_grouped_by_area_worst_first(
    record: Record, handover_of: HandoverOf
) -> None:
    record.vehicle.model = "Marlin"
    text = listing_texts(handover_of(record))["listing.txt"]
    in_order = [
        "2016 Fenwick Marlin: condition as told on the recorded walkaround",
        "Odometer: 12,400 mi",
        "Wheels and running gear\n- Severe crack on the right front brake rotor. [0:31]\n"
        "  https://shop.example/walk.mp4#t=31.5,36",
        "Seating and luggage\n- 3 considerable scuffs on the left saddlebag",
        "EARLIER REPAIRS AND CHANGES\n- Fuel tank has been repainted.",
        "CALLED CLEAN BY THE SPEAKER\n- Fuel tank (apart from what stands above)\n"
        '- Windshield: "Windshield is clean"',
        "OPEN POINTS\n- 1 further finding is left out here until reviewed.",
        "- Right front brake rotor: crack. A cracked brake rotor can break.",
        GENERAL_CAUTION,
        "Review: not reviewed.",
    ]
    places = [text.find(part) for part in in_order]
    assert -1 not in places
    assert places == sorted(places)


def test_the_short_text_names_every_flaw_and_every_doubt(
    record: Record, handover_of: HandoverOf
) -> None:
    handover = handover_of(record)
    text = listing_texts(handover)["listing-short.txt"]
    for part in [*(f"{flaw.sentence}." for flaw in handover.flaws), *handover.open_points()]:
        assert part in text
    assert GENERAL_CAUTION in text
    assert text.count("\n") == 1
    assert "  " not in text


@pytest.mark.parametrize("name", TEXTS)
@pytest.mark.parametrize("emptied", [True, False])
def test_no_text_says_more_than_the_findings(
    record: Record, handover_of: HandoverOf, name: str, emptied: bool
) -> None:
    if emptied:
        record.findings, record.clean, record.unmentioned, record.lines = [], [], [], []
    text = listing_texts(handover_of(record))[name].lower()
    for claim in ("no other", "no damage", "no further", "undamaged", "otherwise", "safe to"):
        assert claim not in text
    assert ("no settled flaw" in text) is emptied


@pytest.mark.parametrize("name", TEXTS)
def test_no_text_carries_anything_that_acts(
    record: Record, handover_of: HandoverOf, name: str
) -> None:
    text = listing_texts(handover_of(record))[name]
    assert not set(text) & set("\x1b\u202e\u202c")
    if name.endswith(".md"):
        assert "<img" not in text.replace("\\<", "")
        assert "[x](" not in text


def test_struck_and_unreviewed_findings_stay_out(record: Record, handover_of: HandoverOf) -> None:
    for text in listing_texts(handover_of(record)).values():
        assert "fork" not in text.lower()
        assert "tear" not in text.lower()


def test_a_shop_can_put_its_own_template(
    tmp_path: Path, record: Record, handover_of: HandoverOf
) -> None:
    (tmp_path / "listing_short.txt.j2").write_text("{{ h.flaws[0].sentence }} ({{ reviewed }})")
    texts = listing_texts(handover_of(record, units="mm"), tmp_path)
    assert texts["listing-short.txt"] == (
        "3 considerable scuffs on the left saddlebag (near the seam), the largest about 51 mm "
        "(not reviewed)"
    )
    assert texts["listing.txt"].startswith("2016 Fenwick")
