"""From which word on a flaw is told."""

import pytest

from tests.understand.talks import read


@pytest.mark.parametrize(
    ("sentence", "defect", "heard"),
    [
        ("The tank has a dent in it.", "dent", "tank has a dent"),
        ("There might be a crack in the fairing.", "crack", "There might be a crack in the"),
        ("Right, maybe a crack in the fairing.", "crack", "maybe a crack in the"),
        ("I believe that's a crack in the fairing.", "crack", "that's a crack in the"),
        ("On the tank there's a dent.", "dent", "On the tank there's a dent."),
        ("Rubber on the left footpeg is worn.", "wear", "Rubber on the left footpeg is worn."),
        ("The seat is worn, and it's got a big tear.", "tear", "it's got a big tear."),
        ("The seat is worn, which is a tear waiting to happen.", "wear", "seat is worn,"),
        ("The hood has some dings and scratches.", "scratch", "hood has some dings and scratches."),
        ("Then there's a tiny hole in the seat.", "hole", "there's a tiny hole in the seat."),
        ("You've got a scuff on the tank.", "scuff", "You've got a scuff on the tank."),
        ("One of the mirrors is cracked.", "crack", "One of the mirrors is cracked."),
        ("The lacquer on the tank is peeling.", "peeling", "The lacquer on the tank is peeling."),
        ("On the left, the mirror is cracked.", "crack", "On the left, the mirror is cracked."),
        ("Up front, the fender is cracked.", "crack", "fender is cracked."),
        (
            "The tank, let me lean in, the tank's dented.",
            "dent",
            "tank, let me lean in, the tank's",
        ),
        ("Swirls and scratches on the tank.", "scratch", "Swirls and scratches on the tank."),
        ("The tank has a dent, and the red doesn't match.", "color_mismatch", "the red doesn't"),
        ("The fender's been replaced, color's off.", "color_mismatch", "color's off."),
    ],
)
def test_a_flaw_is_told_from_its_own_clause_on(sentence: str, defect: str, heard: str) -> None:
    found = [s.heard for s in read(sentence).statements if s.defect == defect]
    assert len(found) == 1
    assert found[0].startswith(heard)


def test_what_is_said_of_a_part_named_before_starts_at_it() -> None:
    statements = read("Now the tank.", "It's got a dent in it.").statements
    assert [s.heard for s in statements] == ["It's got a dent"]


def test_confidence_still_looks_at_what_the_clause_leans_on() -> None:
    _, tear = read("The seat is worn, and it's got a big tear.").statements
    assert " ".join(word.text for word in tear.basis).startswith("seat is worn")
    assert tear.interval.start_s > tear.basis_interval.start_s
