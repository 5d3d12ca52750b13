"""What sentences mean: one table a concern, each row a talk and what it states."""

import pytest

from pipeline.models import Transcript
from pipeline.understand.reading import decide_kind, understand
from tests.understand.talks import flaws, pairs, read


@pytest.mark.parametrize(
    ("sentence", "expected"),
    [
        ("Scratches and a small dent on the tank.", ["fuel_tank scratch", "fuel_tank dent"]),
        ("Rust on the header pipe and the heat shield.", ["header_pipe rust", "heat_shield rust"]),
        ("The seat has a tear, and so does the backrest.", ["seat tear", "backrest tear"]),
        ("There's a dent in the tank and the fender is rusty.", ["fuel_tank dent", "fender rust"]),
        ("The badge on the trunk is missing.", ["badge missing"]),
        ("A cracked mirror.", ["mirror crack"]),
        ("The license plate bracket is cracked, and the tail light too.",
         ["license_plate_bracket crack", "tail_light crack"]),
        ("Chips on the fender, scratches on the tank, and rust on the frame.",
         ["fender chip", "fuel_tank scratch", "frame rust"]),
        ("The seat is split along the seam.", ["seat tear"]),
        ("The cup holder is broken.", ["other broken"]),
    ],
)  # fmt: skip
def test_pairing(sentence: str, expected: list[str]) -> None:
    assert [f"{part} {defect}" for _, _, part, defect in flaws(sentence)] == expected


@pytest.mark.parametrize(
    ("sentences", "expected"),
    [
        (["The left front turn signal is cracked."], [("left", "front", "turn_signal", "crack")]),
        (["Coming round to the left side.", "The saddlebag is scratched."],
         [("left", None, "saddlebag", "scratch")]),
        (["On the left side now.", "A dent in the tank.", "Now the other side.", "The tank is scratched."],
         [("left", None, "fuel_tank", "dent"), ("right", None, "fuel_tank", "scratch")]),
        (["On the left side.", "The rear tire is worn."], [(None, "rear", "tire", "wear")]),
        (["The kickstand is rusty."], [("left", None, "kickstand", "rust")]),
        (["Scratches on both mirrors."], [("both", None, "mirror", "scratch")]),
        (["The front and rear tires are worn."],
         [(None, "front", "tire", "wear"), (None, "rear", "tire", "wear")]),
        (["Right here on the tank there's a dent."], [(None, None, "fuel_tank", "dent")]),
        (["The left, sorry, right mirror is cracked."], [("right", None, "mirror", "crack")]),
        (["A scratch on the top of the tank."], [(None, "upper", "fuel_tank", "scratch")]),
        (["The left mirror is cracked, the other one's scratched."],
         [("left", None, "mirror", "crack"), ("right", None, "mirror", "scratch")]),
        (["The front fender is scratched, and the other is dented."],
         [(None, "front", "fender", "scratch"), (None, "rear", "fender", "dent")]),
        (["Over on the right now.", "The mirror's cracked."], [("right", None, "mirror", "crack")]),
        (["On the left side, and this scratch on the saddlebag goes for eight inches.",
          "The mirror's cracked."],
         [("left", None, "saddlebag", "scratch"), ("left", None, "mirror", "crack")]),
        (["The seat has light mildew, and a split at the back."],
         [(None, None, "seat", "mildew"), (None, "rear", "seat", "tear")]),
        (["The left grip is torn, and on the right the mirror is loose."],
         [("left", None, "grip", "tear"), ("right", None, "mirror", "loose")]),
        (["On the right.", "The grip is worn, and so is the left one."],
         [("right", None, "grip", "wear"), ("left", None, "grip", "wear")]),
        (["I begin at the right, because at the left there is snow.", "The mirror's cracked."],
         [("right", None, "mirror", "crack")]),
        (["On the right side.", "Now the first thing you'll see is the rear fender.",
          "The mirror's cracked."], [("right", None, "mirror", "crack")]),
        (["Here's the tank.", "Frankly, it has been repainted, and the decal's by my uncle."],
         [(None, None, "fuel_tank", "repaint")]),
        (["The left saddlebag is scuffed, same on the right."],
         [("left", None, "saddlebag", "scuff"), ("right", None, "saddlebag", "scuff")]),
    ],
)  # fmt: skip
def test_places(sentences: list[str], expected: list[tuple[str | None, ...]]) -> None:
    assert flaws(*sentences) == expected


def test_talk_that_names_no_part_states_nothing_of_unknown_things() -> None:
    prompts = ["Thank you.", "Your passwords have been changed.", "Please hold.", "Goodbye."]
    assert pairs(*prompts) == []
    assert pairs("The cup holder is cracked.") == ["other crack"]


@pytest.mark.parametrize(
    "talk",
    [
        ("left",),
        ("right side",),
        ("the tank has scratches two of",),
        ("stock",),
        ("is it bent?", "no"),
    ],
)
def test_talk_that_breaks_off_is_read(talk: tuple[str, ...]) -> None:
    assert len(pairs(*talk)) <= 1


def test_an_inferred_side_is_never_called_spoken() -> None:
    spoken, inferred, own = read(
        "The right mirror is cracked.", "Over on the left side.", "The saddlebag is dented.",
        "The kickstand is bent.",
    ).statements  # fmt: skip
    assert spoken.place.side_basis == "spoken"
    assert inferred.place.side_basis == "inferred"
    assert own.place.side_basis == "inferred"


@pytest.mark.parametrize(
    "sentence",
    [
        "No scratches on the tank.",
        "I don't see any rust on the frame.",
        "The mirrors are free of cracks.",
        "We checked for leaks on the engine.",
        "If you drop it the lever will be bent.",
        "A bit of rust belt salt on the road.",
        "I built it from scratch.",
        "The hood I worried about, because on these you do get cracks, but there's nothing.",
        "These tanks all dent at the knee sooner or later, and this one hasn't.",
        "I'd want to look at the crack in the seat next door, my old bike had one.",
    ],
)
def test_what_states_no_flaw(sentence: str) -> None:
    assert flaws(sentence) == []


@pytest.mark.parametrize(
    ("sentence", "clean"),
    [
        ("No scratches on the tank.", ["fuel_tank"]),
        ("The mirrors are both good.", ["mirror"]),
        ("Kickstand's fine.", ["kickstand"]),
        ("Tank, left: fine.", ["fuel_tank"]),
        ("Nothing on the tank here, nothing on the rear fender.", ["fuel_tank", "fender"]),
        ("Seat's torn, the passenger one is good.", ["passenger_seat"]),
        ("Tank, no dramas, clean as.", ["fuel_tank"]),
        ("Floorboard okay, clutch lever okay.", ["floorboard", "clutch_lever"]),
        ("Running board this side, clean.", ["floorboard"]),
        ("Tank okay over here.", ["fuel_tank"]),
        ("Other than a small chip the tank is clean.", ["fuel_tank"]),
        ("Paint looks great.", []),
        ("Mirror's totally fine, I adjusted it.", ["mirror"]),
        ("Seat, okay.", ["seat"]),
        ("Tail lights, both of them good.", ["tail_light"]),
        ("Upper fork no problem, lower fork bent.", ["fork"]),
        ("Front fender has one tiny chip, and apart from that it's spot on.", ["fender"]),
        ("Front wheel, no dents, and I had it on the stand to spin it.", ["wheel"]),
        (
            "No scratches on this fairing, I looked twice because of the other bike I stuffed up.",
            ["fairing"],
        ),
        # Nothing is praised here.
        ("The kickstand's loose, it's not meant to wobble like that.", []),
        ("The cracks in the fairing, I didn't glue them.", []),
        ("The chain might be loose, I don't know how loose it should be.", []),
        ("The cover comes with it, the trailer doesn't.", []),
        ("That isn't damage you see there on the tank, that's a june bug.", []),
        ("I can't make up my mind is that a crack in the seat or a hair.", []),
    ],
)
def test_clean_parts(sentence: str, clean: list[str]) -> None:
    assert [part.part for part in read(sentence).clean] == clean


def test_the_passenger_one_names_no_side() -> None:
    seats = read("Seat's torn, the passenger one is good.", kind="side_by_side").clean
    assert [(seat.part, seat.side) for seat in seats] == [("passenger_seat", None)]


def test_an_exception_is_a_flaw_all_the_same() -> None:
    assert flaws("Other than a small chip the tank is clean.") == [
        (None, None, "fuel_tank", "chip")
    ]


@pytest.mark.parametrize(
    ("sentences", "severity", "basis"),
    [
        (["A very light scratch on the tank."], 1, "spoken"),
        (["A scratch on the tank, but it's minor."], 2, "spoken"),
        (["A scratch on the tank."], 3, "default"),
        (["Heavy rust on the frame."], 4, "spoken"),
        (["The grip is worn through."], 5, "spoken"),
        (["Rust all over the frame."], 5, "spoken"),
        (["Rust on about eight percent of the frame."], 4, "area"),
        (["The tank was repainted."], None, "default"),
        (["The fender has a hole in it that somebody drilled for a light."], 3, "default"),
        (["A little further in the tank shows a rub mark."], 3, "default"),
        (["The tail light has a crack in the lens, tiny thing."], 1, "spoken"),
        (["The clutch lever has the end snapped off, and he told me, which, fine."], 3, "default"),
        (["A scratch on the tank.", "It's pretty deep."], 4, "spoken"),
        (["Three scratches on the tank, two inches long."], 3, "default"),
    ],
)
def test_grades(sentences: list[str], severity: int | None, basis: str) -> None:
    (statement,) = read(*sentences).statements
    assert (statement.severity, statement.severity_basis) == (severity, basis)


@pytest.mark.parametrize(
    ("sentences", "count", "size_mm", "area_pct"),
    [
        (["Three scratches on the tank."], 3, None, None),
        (["A couple of chips on the fender."], 2, None, None),
        (["Two or three dings in the tank."], 3, None, None),
        (["A two-inch scratch on the tank."], None, 50.8, None),
        (["A dent in the tank, about the size of a dime."], None, 17.91, None),
        (["A scratch on the tank.", "It's about an inch and a half long."], None, 38.1, None),
        (["Fading over half of the seat."], None, None, 50.0),
        (["The mirror is missing, we've ordered one."], None, None, None),
        (["The fender has chips in it, one, two, three chips."], 3, None, None),
        (["The tank has a dent in it, golf ball."], None, 42.67, None),
        (["Of the rear spokes two are loose."], 2, None, None),
        (["The fender is half the sale, and it's got rust."], None, None, None),
        (["The engine case has a weep, and of these I've sold forty."], None, None, None),
        (["A split in the seat, three inches, no, call it two."], None, 50.8, None),
        (
            ["A crack in the fairing, two inches, no, I take it back, it's closer to three."],
            None,
            76.2,
            None,
        ),
        (["Left lower fairing, road rash, nine inches by four."], None, 228.6, None),
        (["Big crack in the fender.", "It'll be two hundred to mend."], None, None, None),
    ],
)
def test_amounts(
    sentences: list[str], count: int | None, size_mm: float | None, area_pct: float | None
) -> None:
    (statement,) = read(*sentences).statements
    assert (statement.count, statement.size_mm, statement.area_pct) == (count, size_mm, area_pct)


def test_the_same_flaw_again_is_a_mention() -> None:
    (statement,) = read(
        "A tear in the seat.", "The mirrors are good.", "That tear I mentioned in the seat is long."
    ).statements
    assert len(statement.mentions) == 1


def test_another_one_is_not() -> None:
    assert len(read("A dent in the tank.", "And another dent in the tank.").statements) == 2


def test_a_reference_to_nothing_heard_is_flagged() -> None:
    meaning = read("The mirrors are good.", "That dent I mentioned in the tank is small.")
    assert "reference_to_unheard" in meaning.statements[0].notes
    assert meaning.line_flags == {"L002": ["reference_to_unheard"]}


@pytest.mark.parametrize(
    ("sentence", "note"),
    [
        ("It might be a hairline crack in the fender.", "speaker_unsure"),
        ("The cup holder is broken.", "unknown_part"),
        ("The right kickstand is bent.", "side_contradiction"),
        ("The windshield is rusty.", "impossible_pair"),
    ],
)
def test_notes(sentence: str, note: str) -> None:
    assert note in read(sentence).statements[0].notes


def test_a_near_spelling_is_read_and_says_so() -> None:
    (statement,) = read("There are scatches on the tank.").statements
    assert statement.defect == "scratch"
    assert statement.closeness < 1
    assert statement.heard != statement.read_as


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("This snowmobile has a new track.", "snowmobile"),
        ("A nice personal watercraft.", "watercraft"),
        ("Hello.", None),
    ],
)
def test_kind(text: str, kind: str | None) -> None:
    assert decide_kind(text) == kind


def test_what_nobody_spoke_of() -> None:
    unmentioned = read("The seat is torn.").unmentioned
    assert "seat" not in unmentioned
    assert "tire" in unmentioned


def test_silence_is_understood_as_nothing() -> None:
    meaning = understand(Transcript(origin="recogniser", lines=[], duration_s=3.0), "motorcycle")
    assert meaning.statements == []


def test_what_a_sentence_is_about_is_not_what_it_only_stands_by() -> None:
    seat = pairs("Seat is the heated one with the luggage rack behind.", "It's got a small tear.")
    mirror = pairs(
        "The mirror, it folds in when you put it in the trailer.", "This one is cracked."
    )
    assert (seat, mirror) == (["seat tear"], ["mirror crack"])


def test_it_is_not_the_part_that_the_talk_goes_on_to() -> None:
    said = pairs(
        "Now the exhaust.", "It's scratched along the bottom, and the header pipe's rusty."
    )
    assert said == ["exhaust scratch", "header_pipe rust"]


def test_it_may_be_named_after() -> None:
    assert pairs("Now the seat.", "It's faded, the decal.") == ["decal fading"]


def test_a_side_or_an_end_of_a_part() -> None:
    assert flaws("Left of the fairing has a gouge.") == [("left", None, "fairing", "gouge")]
    said = flaws("Now the seat.", "The back of it is faded.")
    assert said == [(None, "rear", "seat", "fading")]


def test_a_piece_on_a_part_is_named_by_it() -> None:
    assert pairs("The boots on the forks are both dry rotted.") == ["fork_boot dry_rot"]


def test_a_flaw_in_it_is_not_of_the_next_part() -> None:
    said = pairs("Trunk's faded and it's got swirls in it, and the mirror has a scuff.")
    assert said == ["trunk fading", "trunk swirl", "mirror scuff"]


def test_a_part_that_a_flaw_comes_from_has_not_the_next_one() -> None:
    said = pairs("Swingarm has wear from the chain rubbing, and some corrosion.")
    assert said == ["swingarm wear", "swingarm corrosion"]


def test_an_end_that_names_its_part_too() -> None:
    hull = read("The bow of the hull has a scuff.", kind="watercraft").statements
    bow = read("The bow has a scuff.", kind="watercraft").statements
    assert [(s.place.part, s.place.position) for s in hull] == [("hull", "front")]
    at_it = read("Somebody touched up the hull at the bow.", kind="watercraft").statements
    assert [s.place.part for s in bow] == ["hull"]
    assert [(s.place.part, s.place.position) for s in at_it] == [("hull", "front")]
