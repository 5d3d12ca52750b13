"""Sounds and spellings of words against published dictionaries and independent libraries."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from panphon.distance import Distance
from rapidfuzz.distance import OSA
from scipy.stats import spearmanr

from pipeline.sounds import phones
from pipeline.weigh.sound_index import _sounds

# CMUdict's phones (ARPAbet) in the International Phonetic Alphabet, as Wikipedia's table has them;
# AH stands for both the strut vowel and schwa.
ARPABET = {
    "AA": "ɑ", "AE": "æ", "AH": "ʌə", "AO": "ɔ", "AW": ["aʊ"], "AY": ["aɪ"], "B": "b",
    "CH": ["t͡ʃ"], "D": "d", "DH": "ð", "EH": "ɛ", "ER": "ɚ", "EY": ["eɪ"], "F": "f", "G": "ɡ",
    "HH": "h", "IH": "ɪ", "IY": "i", "JH": ["d͡ʒ"], "K": "k", "L": "l", "M": "m", "N": "n",
    "NG": "ŋ", "OW": ["oʊ"], "OY": ["ɔɪ"], "P": "p", "R": "ɹ", "S": "s", "SH": "ʃ", "T": "t",
    "TH": "θ", "UH": "ʊ", "UW": "u", "V": "v", "W": "w", "Y": "j", "Z": "z", "ZH": "ʒ",
}  # fmt: skip

# CMUdict, package cmudict 1.1.3; stress left out, further pronunciations after a slash.
CMUDICT = {
    "fender": "F EH N D ER", "exhaust": "IH G Z AO S T", "chrome": "K R OW M",
    "scratch": "S K R AE CH", "scratches": "S K R AE CH AH Z/S K R AE CH IH Z",
    "spoke": "S P OW K", "spokes": "S P OW K S", "rust": "R AH S T", "rusted": "R AH S T IH D",
    "rusty": "R AH S T IY", "scuff": "S K AH F", "scuffed": "S K AH F T", "scrape": "S K R EY P",
    "pitting": "P IH T IH NG", "pitted": "P IH T IH D", "gouge": "G AW JH",
    "saddlebag": "S AE D AH L B AE G", "saddlebags": "S AE D AH L B AE G Z",
    "muffler": "M AH F L ER", "dent": "D EH N T", "ding": "D IH NG",
    "windshield": "W IH N D SH IY L D", "blued": "B L UW D", "bluing": "B L UW IH NG",
    "lever": "L EH V ER/L IY V ER", "levers": "L EH V ER Z", "corrosion": "K ER OW ZH AH N",
    "odometer": "OW D AA M AH T ER", "wheel": "W IY L/HH W IY L", "tear": "T EH R/T IH R",
    "tire": "T AY ER", "faded": "F EY D AH D/F EY D IH D", "caliper": "K AE L AH P ER",
    "decals": "D IY K AE L Z", "tailpipe": "T EY L P AY P", "niner": "N AY N ER",
}  # fmt: skip
HOMOPHONES = [
    ("brake", "break"), ("wear", "where"), ("wear", "ware"), ("gauge", "gage"), ("worn", "warn"),
    ("pedal", "peddle"), ("metal", "mettle"), ("wheel", "we'll"), ("right", "write"),
    ("road", "rode"), ("road", "rowed"), ("plate", "plait"), ("hose", "hoes"), ("nick", "knick"),
    ("fade", "fayed"),
]  # fmt: skip


def stands_for(arpabet: str, word: str) -> bool:
    listed, ours = arpabet.split(), phones(word)
    return len(listed) == len(ours) and all(
        phone in ARPABET[code] for code, phone in zip(listed, ours, strict=True)
    )


@pytest.mark.published("CMUdict (cmudict 1.1.3): phones of trade words")
@pytest.mark.parametrize(("word", "listed"), CMUDICT.items())
def test_phones_of_another_dictionary(word: str, listed: str) -> None:
    assert any(stands_for(spoken, word) for spoken in listed.split("/"))


@pytest.mark.published("CMUdict (cmudict 1.1.3): exact homophones")
@pytest.mark.parametrize(("one", "other"), HOMOPHONES)
def test_homophones(one: str, other: str) -> None:
    assert phones(one) == phones(other)


# --- spelling -----------------------------------------------------------------------------------


def osa(one: str, other: str) -> int:
    """Optimal string alignment, the restricted Damerau-Levenshtein distance, plainly."""
    table = [[i + j for j in range(len(other) + 1)] for i in range(len(one) + 1)]
    for i in range(1, len(one) + 1):
        for j in range(1, len(other) + 1):
            table[i][j] = min(
                table[i - 1][j] + 1,
                table[i][j - 1] + 1,
                table[i - 1][j - 1] + (one[i - 1] != other[j - 1]),
            )
            if i > 1 and j > 1 and one[i - 1] == other[j - 2] and one[i - 2] == other[j - 1]:
                table[i][j] = min(table[i][j], table[i - 2][j - 2] + 1)
    return table[-1][-1]


words = st.text("abcé ", max_size=9)


@pytest.mark.published("optimal string alignment by its recurrence, against rapidfuzz")
@given(words, words)
def test_spelling_distance_of_the_library(one: str, other: str) -> None:
    assert OSA.distance(one, other) == osa(one, other)


@pytest.mark.published("PanPhon 0.22 (Mortensen et al., COLING 2016): weighted feature distances")
@pytest.mark.parametrize(("of", "syllabic"), [("consonants", -1), ("vowels", 1)])
def test_alike_phones_are_those_alike_in_features(of: str, syllabic: int) -> None:
    """Ranks agree: the figures themselves are other scales. `ɚ` and diphthongs have no features."""
    published = Distance()
    kept = [
        phone
        for phone in (p for stands in ARPABET.values() for p in stands)
        if (features := published.fm.word_fts(phone)) and len(features) == 1
        and features[0].numeric()[0] == syllabic
    ]  # fmt: skip
    pairs = list(combinations(kept, 2))
    sounds = _sounds()
    ours = [sounds.swap[sounds.number[one], sounds.number[other]] for one, other in pairs]
    theirs = [published.weighted_feature_edit_distance(one, other) for one, other in pairs]
    assert len(kept) >= 10, of
    assert spearmanr(ours, theirs).statistic >= 0.7
