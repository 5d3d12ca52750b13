"""49 CFR part 565, the ICAO spelling alphabet and the police list, spelled out in a talk."""

import string
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.models import Vehicle
from pipeline.understand.header import read_header
from pipeline.understand.tokens import pieces
from pipeline.understand.vin import check_digit, is_valid, letters_of, model_years
from pipeline.walkaround import Options, log_recording

SPEECH = Path(__file__).parent / "speech"

# ICAO Annex 10 vol. II and ITU Radio Regulations App. 14, as in SERA.14020 Table S14-2.
ICAO = (
    "Alfa Bravo Charlie Delta Echo Foxtrot Golf Hotel India Juliett Kilo Lima Mike November Oscar "
    "Papa Quebec Romeo Sierra Tango Uniform Victor Whiskey X-ray Yankee Zulu"
).split()
# APCO's list of 1941-1974, still in use.
POLICE = (
    "Adam Boy Charles David Edward Frank George Henry Ida John King Lincoln Mary Nora Ocean Paul "
    "Queen Robert Sam Tom Union Victor William X-ray Young Zebra"
).split()
DIGITS = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
# The same digits as ICAO and ACP 125 have them spoken.
RADIO_DIGITS = ["zero", "wun", "too", "tree", "fower", "fife", "six", "seven", "ait", "niner"]

WORKED = [
    "1M8GDM9AXKP042788",  # the widely printed worked example, sum 351
    "1G4AH59H45G118341",  # the sample of CFR Table V
    "1J9RP1A36A1644345",  # NHTSA's outline for new manufacturers
    "11111111111111111",  # sum 89
]
# 49 CFR 565 Table III: value to letters. Table IV: weights of positions 1 to 17.
TABLE_III = {1: "AJ", 2: "BKS", 3: "CLT", 4: "DMU", 5: "ENV", 6: "FW", 7: "GPX", 8: "HY", 9: "RZ"}
TABLE_IV = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
ALLOWED = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"

vins = st.text(ALLOWED, min_size=17, max_size=17)


def header(said: str) -> Vehicle:
    return read_header(pieces(said), "motorcycle")


def spelled(vin: str, letters: list[str], digits: list[str]) -> str:
    words = dict(zip(string.ascii_uppercase, letters, strict=True))
    words |= dict(zip(string.digits, digits, strict=True))
    return " ".join(words[character] for character in vin)


def digit_by_the_tables(vin: str) -> str:
    """The five steps of 49 CFR 565.15(c), written down plainly."""
    value = {letter: n for n, letters in TABLE_III.items() for letter in letters}
    value |= {digit: int(digit) for digit in string.digits}
    total = sum(value[c] * weight for c, weight in zip(vin, TABLE_IV, strict=True))
    return "X" if total % 11 == 10 else str(total % 11)


@pytest.mark.published("49 CFR 565.15(c), Tables III and IV, on random numbers")
@given(vins)
def test_check_digit_by_the_tables(vin: str) -> None:
    assert check_digit(vin) == digit_by_the_tables(vin)


@pytest.mark.published("49 CFR 565.15: the check digit stands at position 9; letters I, O, Q never")
@given(vins, st.integers(0, 16), st.sampled_from("IOQ"))
def test_forbidden_letters_are_never_valid(vin: str, at: int, letter: str) -> None:
    right = vin[:8] + check_digit(vin) + vin[9:]
    assert is_valid(right) == (right[9] not in "UZ0")
    assert not is_valid(right[:at] + letter + right[at + 1 :])


@pytest.mark.published("49 CFR 565.15(c), Table III: a letter of another value is always caught")
@given(vins, st.integers(0, 16), st.sampled_from(ALLOWED))
def test_one_wrong_character_is_caught_unless_it_counts_the_same(
    vin: str, at: int, wrong: str
) -> None:
    right = vin[:8] + check_digit(vin) + vin[9:]
    changed = right[:at] + wrong + right[at + 1 :]
    alike = at != 8 and digit_by_the_tables(wrong * 17) == digit_by_the_tables(right[at] * 17)
    assert (check_digit(changed) == changed[8]) == (alike or wrong == right[at])


@pytest.mark.published("49 CFR 565.15(d), Table VII: 30 codes, 1980-2039; I O Q U Z 0 are none")
def test_model_year_cycle() -> None:
    codes = "ABCDEFGHJKLMNPRSTVWXY123456789"
    for year in range(1980, 2040):
        assert year in model_years(codes[(year - 1980) % 30])
    assert all(model_years(code) == () for code in "IOQUZ0")


@pytest.mark.published("ICAO Annex 10 vol. II, SERA.14020 Table S14-2: spelling words")
@pytest.mark.parametrize(
    ("word", "letter"),
    [
        *zip(ICAO, string.ascii_uppercase, strict=True),
        ("ex ray", "X"), ("x ray", "X"),
    ],
)  # fmt: skip
def test_icao_words(word: str, letter: str) -> None:
    assert "".join(letters_of(pieces(word.lower()), joined=False)) == letter


@pytest.mark.published("ANSI T1.523 and FAA spellings: Alpha, Juliet, Xray; Whisky from memory")
@pytest.mark.parametrize("word", ["alpha", "juliet", "xray", "whisky"])
def test_other_spellings_of_icao_words(word: str) -> None:
    assert "".join(letters_of([word], joined=False)) == word[0].upper()


@pytest.mark.published("APCO's police list of 1941-1974, with its local variants")
@pytest.mark.parametrize(
    ("word", "letter"),
    [
        *((w, c) for w, c in zip(POLICE, string.ascii_uppercase, strict=True) if w != "X-ray"),
        ("Michael", "M"), ("Baker", "B"), ("Peter", "P"), ("Nancy", "N"), ("Yellow", "Y"),
        ("Dog", "D"), ("Easy", "E"), ("B as in boy", "B"), ("S as in sugar", "S"),
    ],
)  # fmt: skip
def test_police_words(word: str, letter: str) -> None:
    assert "".join(letters_of(pieces(word.lower()), joined=False)) == letter


@pytest.mark.published("ACP 125 and ICAO Annex 10: digits as spoken on the radio")
@pytest.mark.parametrize(
    ("word", "digit"),
    [
        (w, str(n)) for n, w in enumerate(RADIO_DIGITS)
    ],
)  # fmt: skip
def test_radio_digits(word: str, digit: str) -> None:
    assert "".join(letters_of([word], joined=False)) == digit


@pytest.mark.published("49 CFR 565 worked examples, spelled with letters, ICAO and police words")
@pytest.mark.parametrize("lead", ["The VIN is", "VIN number", "Vehicle identification number:"])
@pytest.mark.parametrize("letters", [list(string.ascii_uppercase), ICAO, POLICE],
                         ids=["plain", "icao", "police"])  # fmt: skip
@pytest.mark.parametrize("vin", WORKED)
def test_worked_examples_spelled_in_a_talk(vin: str, letters: list[str], lead: str) -> None:
    told = header(f"{lead} {spelled(vin, letters, DIGITS)}.")
    assert (told.vin, told.vin_valid) == (vin, True)


@pytest.mark.published("49 CFR 565: numbers whose check digit does not fit")
@pytest.mark.parametrize(
    "vin",
    [
        "1M8GDM9AXKP042789",  # last digit changed
        "1M8GDM9A1KP042788",  # 1 for X
        "1M8GDN9AXKP042788",  # M heard as N
        "1M8GVM9AXKP042788",  # D heard as V
        "1M8GDM9AXKP024788",  # 4 and 2 swapped
    ],
)
def test_a_wrong_number_is_kept_as_said_and_flagged(vin: str) -> None:
    told = header(f"The VIN is {spelled(vin, list(string.ascii_uppercase), DIGITS)}.")
    assert (told.vin, told.vin_valid, told.flags) == (vin, False, ["vin_check_digit"])


@pytest.mark.published("49 CFR 565: a wrong number must not be read as another, valid one")
def test_a_wrong_number_in_icao_words_is_never_called_valid() -> None:
    told = header(f"The VIN is {spelled('1M8GDM9AXKP024788', ICAO, DIGITS)}.")
    assert told.vin_valid is False


@pytest.mark.published("49 CFR 565 worked examples, as a recogniser or a caption writes them")
@pytest.mark.parametrize("vin", WORKED)
def test_worked_examples_written_in_one(vin: str) -> None:
    assert header(f"The VIN is {vin}.").vin == vin


@pytest.mark.published("49 CFR 565 worked example in ICAO words, heard by the recogniser")
def test_a_worked_example_heard() -> None:
    """A synthetic voice (hibari, "heart") spells the number; no text is given."""
    heard = log_recording(SPEECH / "vin-spelled.ogg", Options()).record.vehicle
    assert (heard.vin, heard.vin_valid) == ("1M8GDM9AXKP042788", True)
