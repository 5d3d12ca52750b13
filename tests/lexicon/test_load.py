import re
from importlib import resources
from pathlib import Path

import pytest

from lexicon.load import (
    Lexicon,
    LexiconError,
    extra_text,
    kind_cues,
    kinds,
    lint,
    load_lexicon,
    phrases_in,
)
from tests.lexicon.contract import CENTRE_LINE, DEFECTS, NOT_ON_A_MOTORCYCLE, PARTS

KINDS = ("motorcycle", "side_by_side", "snowmobile", "watercraft")


@pytest.fixture(scope="module")
def motorcycle() -> Lexicon:
    return load_lexicon("motorcycle")


def ids(lexicon: Lexicon, role: str) -> dict[str, str]:
    return {phrase.text: phrase.id for phrase in lexicon.phrases if phrase.role == role}


def shop(folder: Path, text: str) -> Path:
    path = folder / "shop.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_kinds() -> None:
    assert kinds() == KINDS


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_loads_without_fault(kind: str) -> None:
    lexicon = load_lexicon(kind)
    assert lint(kind) == []
    assert lexicon.kind == kind
    assert re.fullmatch(r"1\+[0-9a-f]{12}", lexicon.version)
    assert lexicon.shop is None
    assert 12 <= len(lexicon.kind_entry.checklist) <= 20
    assert len(lexicon.kind_entry.checklist) == len(set(lexicon.kind_entry.checklist))
    assert lexicon.kind_entry.cues
    assert lexicon.hotwords


@pytest.mark.parametrize("kind", KINDS)
def test_no_text_stands_twice_within_a_role(kind: str) -> None:
    texts = [(phrase.role, phrase.text) for phrase in load_lexicon(kind).phrases]
    assert len(texts) == len(set(texts))


def test_all_contract_ids_are_there(motorcycle: Lexicon) -> None:
    everywhere = set().union(*(load_lexicon(kind).parts for kind in KINDS))
    assert everywhere >= PARTS
    assert set(motorcycle.parts) >= PARTS - NOT_ON_A_MOTORCYCLE
    assert not set(motorcycle.parts) & NOT_ON_A_MOTORCYCLE
    for kind in KINDS:
        assert set(load_lexicon(kind).defects) >= DEFECTS


def test_there_are_enough_parts_and_flaws(motorcycle: Lexicon) -> None:
    assert len(set().union(*(load_lexicon(kind).parts for kind in KINDS))) >= 100
    assert len(motorcycle.defects) >= 45


@pytest.mark.parametrize("kind", KINDS)
def test_every_part_and_flaw_has_words(kind: str) -> None:
    lexicon = load_lexicon(kind)
    said = {(phrase.role, phrase.id) for phrase in lexicon.phrases}
    assert {("part", id_) for id_ in lexicon.parts} <= said
    assert {("defect", id_) for id_ in lexicon.defects} <= said


@pytest.mark.parametrize("kind", KINDS)
def test_centre_line(kind: str) -> None:
    lexicon = load_lexicon(kind)
    fender = {"fender"} if kind in {"motorcycle", "snowmobile"} else set()
    centred = {id_ for id_, part in lexicon.parts.items() if part.centre_line}
    assert centred == (CENTRE_LINE | fender) & set(lexicon.parts)


def test_sides_and_axles_of_a_motorcycle(motorcycle: Lexicon) -> None:
    parts = motorcycle.parts.items()
    assert {id_: part.one_side for id_, part in parts if part.one_side} == {
        "kickstand": "left",
        "clutch_lever": "left",
        "shift_lever": "left",
        "brake_lever": "right",
        "brake_pedal": "right",
        "throttle": "right",
    }
    axle_pairs = {id_ for id_, part in parts if part.axle_pair}
    assert axle_pairs >= {"wheel", "rim", "tire", "spokes", "hub", "axle", "fender"}
    assert axle_pairs >= {"brake_rotor", "brake_caliper"}
    assert {id_ for id_, part in parts if part.paired} >= {"mirror", "saddlebag", "grip"}


@pytest.mark.parametrize("kind", KINDS)
def test_no_flaw_is_impossible_on_every_part(kind: str) -> None:
    lexicon = load_lexicon(kind)
    for id_, defect in lexicon.defects.items():
        can_show = [p for p in lexicon.parts.values() if set(p.materials) - set(defect.never_on)]
        assert can_show, id_


@pytest.mark.parametrize(
    ("said", "part"),
    [
        ("gas tank", "fuel_tank"),
        ("petrol tank", "fuel_tank"),
        ("blinkers", "turn_signal"),
        ("indicator", "turn_signal"),
        ("jiffy stand", "kickstand"),
        ("side stand", "kickstand"),
        ("brake light", "tail_light"),
        ("tail light", "tail_light"),
        ("mufflers", "exhaust"),
        ("slip on", "exhaust"),
        ("down pipe", "header_pipe"),
        ("headers", "header_pipe"),
        ("hard bags", "saddlebag"),
        ("panniers", "saddlebag"),
        ("side case", "saddlebag"),
        ("footboard", "floorboard"),
        ("running boards", "floorboard"),
        ("fork tubes", "fork"),
        ("fork lower", "fork"),
        ("discs", "brake_rotor"),
        ("derby cover", "clutch_cover"),
        ("engine guard", "crash_bar"),
        ("highway bars", "crash_bar"),
        ("wind screen", "windshield"),
        ("speedo", "instrument"),
        ("gauge cluster", "instrument"),
        ("bellypan", "belly_pan"),
        ("belly pan", "belly_pan"),
        ("sissy bar", "backrest"),
        ("fairing bracket", "fairing"),
        ("passenger seat", "passenger_seat"),
    ],
)
def test_trade_words_for_parts(motorcycle: Lexicon, said: str, part: str) -> None:
    assert ids(motorcycle, "part")[said] == part


# tests/narrations/README.md, rule 9.
@pytest.mark.parametrize(
    ("said", "defect"),
    [
        ("ding", "dent"),
        ("road rash", "scuff"),
        ("curb rash", "scuff"),
        ("rub mark", "scuff"),
        ("weeping", "seepage"),
        ("sweating", "seepage"),
        ("drip", "leak"),
        ("bubbling", "blister"),
        ("sun faded", "fading"),
        ("yellowed", "discoloration"),
        ("cloudy", "hazing"),
        ("bald", "wear"),
        ("play", "loose"),
        ("dry rotted", "dry_rot"),
        ("weather checked", "dry_rot"),
        ("blued", "heat_bluing"),
        ("ripped", "tear"),
        ("frayed", "wear"),
        ("sticker residue", "residue"),
        ("grease", "residue"),
        ("water spots", "stain"),
        ("surface rust", "rust"),
        ("spider cracks", "crack"),
        ("stress cracks", "crack"),
        ("hairline cracks", "crack"),
        ("patched", "prior_repair"),
        ("welded", "prior_repair"),
        ("repaired", "prior_repair"),
        ("fixed", "prior_repair"),
        ("plugged", "prior_repair"),
        ("resprayed", "repaint"),
        ("aftermarket", "replaced_part"),
        ("new", "replaced_part"),
        ("replaced", "replaced_part"),
        ("off color", "color_mismatch"),
        ("crooked", "misaligned"),
    ],
)
def test_trade_words_for_flaws(motorcycle: Lexicon, said: str, defect: str) -> None:
    assert ids(motorcycle, "defect")[said] == defect


# The contract's table of grades.
@pytest.mark.parametrize(
    ("grade", "words"),
    [
        ("1", "very minor, very light, tiny, barely visible, just noticeable, really minor"),
        ("2", "minor, light, slight, small, little, mild, faint"),
        ("3", "some, noticeable, visible, moderate, normal"),
        ("4", "heavy, bad, deep, large, big, considerable, significant, pretty rough, really bad"),
        ("5", "severe, extensive, all over, everywhere, worn through, destroyed, terrible"),
    ],
)
def test_qualifiers_have_the_contracts_grades(motorcycle: Lexicon, grade: str, words: str) -> None:
    grades = ids(motorcycle, "qualifier")
    assert {word: grades[word] for word in words.split(", ")} == dict.fromkeys(
        words.split(", "), grade
    )


def test_ordinary_english_words_are_weak(motorcycle: Lexicon) -> None:
    weak = {phrase.text for phrase in motorcycle.phrases if phrase.weak}
    assert weak >= {"can", "new", "shot", "play", "cut", "light", "right", "back", "fixed"}
    assert not weak & {"saddlebag", "scratch", "left", "front"}


@pytest.mark.parametrize(
    ("part", "defect"),
    [("seat", "tear"), ("backrest", "tear"), ("windshield", "crack"), ("no such part", "crack")],
)
def test_split_is_a_tear_on_a_seat_only(motorcycle: Lexicon, part: str, defect: str) -> None:
    split = next(p for p in motorcycle.phrases if p.text == "split" and p.role == "defect")
    assert motorcycle.defect_on(split, part) == defect


def test_sides_of_a_kind() -> None:
    assert ids(load_lexicon("watercraft"), "side")["starboard"] == "right"
    assert ids(load_lexicon("side_by_side"), "side")["driver's side"] == "left"
    assert "starboard" not in ids(load_lexicon("motorcycle"), "side")


def test_cues_of_every_kind() -> None:
    assert kind_cues().keys() == set(KINDS)
    assert "kickstand" in kind_cues()["motorcycle"]
    assert "snowmobile" in kind_cues()["snowmobile"]


# US Mint coin specifications; Rules of Golf App. III (USGA 2016), least diameter; ISO/IEC 7810,
# size ID-1, long side.
@pytest.mark.published
@pytest.mark.parametrize(
    ("thing", "mm"),
    [
        ("penny", 19.05),
        ("cent", 19.05),
        ("nickel", 21.21),
        ("dime", 17.91),
        ("quarter", 24.26),
        ("half dollar", 30.61),
        ("dollar coin", 26.49),
        ("golf ball", 42.67),
        ("golfball", 42.67),
        ("credit card", 85.60),
        ("driver's license", 85.60),
        ("a4 sheet", 297.0),
    ],
)
def test_published_sizes(motorcycle: Lexicon, thing: str, mm: float) -> None:
    assert motorcycle.sizes_mm[thing] == mm


def test_a_shops_file_adds_words_and_parts(tmp_path: Path) -> None:
    path = shop(
        tmp_path,
        """
        version = "7"
        part_phrases = { saddlebag = ["kit~bag"], hull = ["tub"] }
        defect_phrases = { scuff = ["love mark"] }
        [parts.sidecar]
        phrases = ["side~car"]
        area = "body"
        one_side = "right"
        """,
    )
    lexicon = load_lexicon("motorcycle", extra_text(path))
    parts = ids(lexicon, "part")
    assert parts["kit bags"] == parts["kitbag"] == "saddlebag"
    assert "kit~bag" in lexicon.parts["saddlebag"].phrases
    assert parts["sidecar"] == "sidecar"
    assert lexicon.parts["sidecar"].one_side == "right"
    assert "tub" not in parts
    assert ids(load_lexicon("watercraft", extra_text(path)), "part")["tub"] == "hull"
    assert ids(lexicon, "defect")["love marks"] == "scuff"
    assert lexicon.version == load_lexicon("motorcycle").version
    assert re.fullmatch(r"7\+[0-9a-f]{12}", lexicon.shop or "")
    assert phrases_in(extra_text(path)) == [
        ("kit~bag", "saddlebag"), ("tub", "hull"), ("love mark", "scuff"),
    ]  # fmt: skip
    assert lint(path) == []


def test_a_changed_file_is_read_again(tmp_path: Path) -> None:
    path = shop(tmp_path, 'part_phrases = { seat = ["sofa"] }')
    assert "sofa" in ids(load_lexicon("motorcycle", extra_text(path)), "part")
    assert load_lexicon("motorcycle", extra_text(path)) is load_lexicon(
        "motorcycle", extra_text(path)
    )
    shop(tmp_path, 'part_phrases = { seat = ["settee"] }')
    assert "sofa" not in ids(load_lexicon("motorcycle", extra_text(path)), "part")


BAD = [
    ("parts = [", "shop.toml: is not valid TOML"),
    (
        'part_phrases = { seet = ["x"] }',
        "shop.toml, part_phrases: nothing has the id 'seet'; check the spelling",
    ),
    (
        'defect_phrases = { scrach = ["x"] }',
        "shop.toml, defect_phrases: nothing has the id 'scrach'; check the spelling",
    ),
    (
        'part_frases = { seat = ["x"] }',
        "shop.toml, part_frases: there is no such field; check the spelling",
    ),
    (
        'part_phrases = { seat = ["rear view mirror"] }',
        "shop.toml, part_phrases.seat: 'rear view mirror' already stands for part 'mirror' "
        "(common.toml, parts.mirror); keep one of the two",
    ),
    (
        'part_phrases = { seat = ["Slip-On"] }',
        "shop.toml, part_phrases.seat: 'Slip-On' is not a phrase; write lower-case words without "
        "hyphens, one space or ~ between them, then ! and ? if any",
    ),
    (
        'part_phrases = { seat = ["sofa", "sofa?"] }',
        "shop.toml, part_phrases.seat: 'sofa' is both weak and not weak",
    ),
    ('[parts.sidecar]\nphrases = ["sidecar"]', "shop.toml, parts.sidecar.area: is missing"),
    (
        '[parts.sidecar]\nphrases = ["sidecar"]\narea = "moon"',
        "shop.toml, parts.sidecar.area: Input should be",
    ),
    (
        '[parts.seat]\nphrases = ["sofa"]\narea = "body"',
        "shop.toml, parts.seat: the lexicon has it; write its words under part_phrases",
    ),
]


@pytest.mark.parametrize(("text", "message"), BAD)
def test_a_bad_file_is_refused_with_file_and_entry(tmp_path: Path, text: str, message: str) -> None:
    path = shop(tmp_path, text)
    with pytest.raises(LexiconError) as caught:
        load_lexicon("motorcycle", extra_text(path))
    assert str(caught.value).startswith(message)
    assert "\n" not in str(caught.value)
    assert any(fault.startswith(message) for fault in lint(path))


def test_all_faults_are_listed_once(tmp_path: Path) -> None:
    path = shop(tmp_path, 'part_phrases = { seet = ["x"] }\ndefect_phrases = { rusd = ["y"] }')
    assert len(lint(path)) == 2
    with pytest.raises(LexiconError, match=r"\(and 1 more\)"):
        load_lexicon("motorcycle", extra_text(path))


def test_unknown_kind_and_unreadable_file(tmp_path: Path) -> None:
    with pytest.raises(LexiconError, match="no lexicon for the kind 'tractor'; there are: motorc"):
        load_lexicon("tractor")
    with pytest.raises(LexiconError, match=r"none\.toml: cannot be read \(No such file"):
        extra_text(tmp_path / "none.toml")
    (tmp_path / "latin.toml").write_bytes(b"# caf\xe9")
    with pytest.raises(LexiconError, match="is not UTF-8 text"):
        extra_text(tmp_path / "latin.toml")
    assert lint("tractor") == ["tractor: cannot be read (No such file or directory)"]


def test_data_lies_beside_the_code() -> None:
    names = {file.name for file in resources.files("lexicon").joinpath("data").iterdir()}
    assert names == {"common.toml", *(f"{kind}.toml" for kind in KINDS)}
