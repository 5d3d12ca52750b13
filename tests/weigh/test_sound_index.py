"""What sounds like what."""

import pytest

from lexicon.expand import Phrase
from pipeline.weigh.sound_index import SoundIndex, distance

PHRASES = [
    Phrase("saddlebag", "part", "saddlebag"),
    Phrase("exhaust", "part", "exhaust"),
    Phrase("fork seal", "part", "fork_seal"),
    Phrase("grip", "part", "grip"),
    Phrase("hazy", "defect", "hazing"),
    Phrase("rusty", "defect", "rust"),
    Phrase("hairline crack", "defect", "crack"),
    Phrase("light", "qualifier", "2"),
]


@pytest.mark.parametrize(
    ("one", "other"),
    [("hay z", "hazy"), ("break rotor", "brake rotor"), ("worn threw", "worn through")],
)
def test_words_that_sound_the_same_are_no_distance_apart(one: str, other: str) -> None:
    assert distance(one, other) == 0.0


@pytest.mark.parametrize(
    ("heard", "near", "far"),
    [
        ("tent", "dent", "chain"),  # voice alone differs
        ("trip", "grip", "seat"),
        ("sky", "ski", "hood"),
        ("peak shield", "heat shield", "mud flap"),  # a faint h before a vowel
        ("airline", "hairline", "mirror"),
        ("saddle begone", "saddlebag on", "side cover on"),
    ],
)
def test_what_is_made_alike_sounds_alike(heard: str, near: str, far: str) -> None:
    assert distance(heard, near) < 0.2 < distance(heard, far)
    assert distance(heard, near) == pytest.approx(distance(near, heard))


@pytest.mark.parametrize(
    ("heard", "meant"),
    [
        ("eggs host", "exhaust"),  # word split
        ("four seal", "fork seal"),  # a sound lost
        ("trip", "grip"),  # one for another
        ("hay z", "hazy"),
        ("rust he", "rusty"),
        ("airline crack", "hairline crack"),
    ],
)
def test_the_index_finds_the_phrase_meant_first(heard: str, meant: str) -> None:
    found = SoundIndex(PHRASES).near(heard, 0.2)
    assert found[0].phrase.text == meant
    assert found[0].distance == pytest.approx(distance(heard, meant), abs=1e-4)
    assert [near.distance for near in found] == sorted(near.distance for near in found)


@pytest.mark.parametrize("heard", ["weather", "customer", "yesterday"])
def test_the_index_finds_nothing_like_ordinary_words(heard: str) -> None:
    assert SoundIndex(PHRASES).near(heard, 0.15) == []


def test_an_empty_index_finds_nothing() -> None:
    assert SoundIndex([]).near("grip", 0.2) == []
