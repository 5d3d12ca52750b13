import pytest
from hypothesis import given
from hypothesis import strategies as st

from lexicon.expand import Phrase, expand, plural, spellings, well_formed


@pytest.mark.parametrize(
    ("one", "several"),
    [
        ("scratch", "scratches"),
        ("fork leg", "fork legs"),
        ("battery", "batteries"),
        ("tray", "trays"),
        ("glass", "glasses"),
        ("gas box", "gas boxes"),
        ("scuff", "scuffs"),
        ("kickstand foot", "kickstand feet"),
        ("crash bar", "crash bars"),
    ],
)
def test_plural(one: str, several: str) -> None:
    assert plural(one) == several


@pytest.mark.parametrize(
    ("written", "forms"),
    [
        ("saddle~bag", ("saddlebag", "saddle bag")),
        ("left~hand~side", ("lefthandside", "left hand side")),
        ("gas tank", ("gas tank",)),
        ("rust!", ("rust",)),
        ("can?", ("can",)),
        ("bars!?", ("bars",)),
    ],
)
def test_spellings(written: str, forms: tuple[str, ...]) -> None:
    assert spellings(written) == forms


@pytest.mark.parametrize(
    ("written", "ok"),
    [
        ("gas tank", True),
        ("driver's seat", True),
        ("saddle~bag", True),
        ("bars!?", True),
        ("12 volt outlet", True),
        ("bars?!", False),
        ("Gas tank", False),
        ("gas  tank", False),
        (" gas tank", False),
        ("gas tank ", False),
        ("slip-on", False),
        ("saddle~ bag", False),
        ("", False),
    ],
)
def test_well_formed(written: str, ok: bool) -> None:
    assert well_formed(written) is ok


def test_expand_makes_plurals_of_nouns_and_none_of_marked_ones() -> None:
    assert expand(["saddle~bag", "pipes!", "chassis!", "can?"], "part", "x", inflect=True) == [
        Phrase("saddlebag", "part", "x"),
        Phrase("saddlebags", "part", "x", plural=True),
        Phrase("saddle bag", "part", "x"),
        Phrase("saddle bags", "part", "x", plural=True),
        Phrase("pipes", "part", "x", plural=True),
        Phrase("chassis", "part", "x"),
        Phrase("can", "part", "x", weak=True),
        Phrase("cans", "part", "x", plural=True, weak=True),
    ]


def test_forms_are_not_inflected() -> None:
    forms = expand(["sun~faded", "leaks"], "defect", "x", inflect=False)
    assert [(form.text, form.plural) for form in forms] == [
        ("sunfaded", False),
        ("sun faded", False),
        ("leaks", False),
    ]


@given(st.from_regex(r"[a-z]{1,8}([ ~][a-z]{1,8}){0,3}!?\??", fullmatch=True))
def test_every_form_of_a_phrase_is_plain_lower_case_words(written: str) -> None:
    assert well_formed(written)
    for phrase in expand([written], "part", "x", inflect=True):
        assert phrase.text.replace(" ", "").isalpha()
        assert "  " not in phrase.text
        assert phrase.text == phrase.text.strip()
