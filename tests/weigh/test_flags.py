"""Why a person should look."""

import pytest

from pipeline.weigh.flags import REASONS, finding_flags, line_flags, reason


@pytest.mark.parametrize(
    ("notes", "clues", "confidence", "codes"),
    [
        ([], {}, 0.95, []),
        ([], {}, 0.85, ["unsure"]),
        ([], {"repaired": 1.0, "worst": 0.7}, 0.85, ["repaired", "unsure_words"]),
        ([], {"repaired": 1.0}, 0.95, []),
        (["speaker_unsure"], {}, 0.99, ["speaker_unsure"]),
        (["speaker_unsure"], {"rival": 0.3}, 0.5, ["speaker_unsure", "other_reading"]),
    ],
)
def test_findings(
    notes: list[str], clues: dict[str, float], confidence: float, codes: list[str]
) -> None:
    assert finding_flags(notes, clues, confidence, 0.1) == codes


@pytest.mark.parametrize(
    ("clues", "confidence", "codes"),
    [
        ({}, 0.95, []),
        ({}, 0.85, ["may_hide_a_flaw"]),
        ({"near_miss": 0.4, "stray_flaw": 1.0}, 0.85, ["near_miss", "stray_flaw"]),
        ({"flaw_slot": 0.8}, 0.85, ["odd_word"]),
        ({"part_slot": 0.2}, 0.85, ["may_hide_a_flaw"]),
    ],
)
def test_lines(clues: dict[str, float], confidence: float, codes: list[str]) -> None:
    assert line_flags(clues, confidence, 0.1) == codes


def test_a_dearer_glance_flags_less() -> None:
    assert line_flags({}, 0.85, 0.2) == []
    assert finding_flags([], {}, 0.85, 0.2) == []


def test_every_code_has_a_reason_and_an_unknown_one_is_shown() -> None:
    assert all(text and not text.endswith(".") for text in REASONS.values())
    assert reason("unsure_words") == REASONS["unsure_words"]
    assert reason("some_new_code") == "some new code"
