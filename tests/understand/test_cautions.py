"""Who should look before the machine is ridden."""

import pytest

from lexicon.load import load_lexicon
from pipeline.models import Kind
from pipeline.understand.cautions import caution
from tests.understand.talks import read


@pytest.mark.parametrize(
    ("kind", "sentence", "concerns"),
    [
        ("motorcycle", "The brake line is leaking.", "the brakes"),
        ("watercraft", "The impeller is bent.", "the drive train"),
        ("watercraft", "The intake grate is broken.", "the drive train"),
        ("watercraft", "Pump's cracked.", "the drive train"),
        ("watercraft", "The steering nozzle is cracked.", "the steering"),
        ("watercraft", "The cup holder is cracked.", None),
        ("motorcycle", "The tank is scratched.", None),
    ],
)
def test_what_can_hurt_someone_carries_a_caution(
    kind: Kind, sentence: str, concerns: str | None
) -> None:
    (said,) = read(sentence, kind=kind).statements
    found = caution(load_lexicon(kind), said.place.part, said.defect, said.place.part_said)
    if concerns is None:
        assert found is None
    else:
        assert found is not None
        assert f"concerns {concerns}:" in found
