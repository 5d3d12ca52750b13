import tomllib

import pytest
import tomlkit
from hypothesis import given
from hypothesis import strategies as st

from lexicon.edit import with_phrase, without_phrase

SHOP = """\
# What we say here.
version = "7"
part_phrases = { saddlebag = ["kit~bag!"], hull = ["tub"] } # since May

[parts.sidecar]
phrases = ["side~car"]
area = "body"
"""


def test_what_else_is_in_the_file_stays_as_it_is() -> None:
    text = with_phrase(SHOP, "part_phrases", "seat", "sofa")
    text = with_phrase(text, "defect_phrases", "scuff", "love mark")
    assert "# What we say here.\n" in text
    assert "# since May\n" in text
    added = {"part_phrases": {"saddlebag": ["kit~bag!"], "hull": ["tub"], "seat": ["sofa"]}}
    added |= {"defect_phrases": {"scuff": ["love mark"]}}
    assert tomllib.loads(text) == tomllib.loads(SHOP) | added


@pytest.mark.parametrize("phrase", ["kit bag", "kitbag", "kit~bag", "kitbag!"])
def test_a_phrase_goes_in_any_spelling(phrase: str) -> None:
    left = tomllib.loads(without_phrase(SHOP, phrase))
    assert left["part_phrases"] == {"hull": ["tub"]}


def test_a_phrase_stands_once() -> None:
    once = with_phrase(SHOP, "part_phrases", "seat", "sofa")
    assert with_phrase(once, "part_phrases", "seat", "sofa") == once


def test_what_is_not_there_changes_nothing() -> None:
    assert without_phrase(SHOP, "sofa") == SHOP
    assert without_phrase("", "sofa") == "\n"


_WORDS = st.from_regex(r"[a-z]{1,6}( [a-z]{1,6})?", fullmatch=True)
_TABLES = st.sampled_from(["part_phrases", "defect_phrases"])


@given(
    st.dictionaries(_TABLES, st.dictionaries(_WORDS, st.lists(_WORDS, min_size=1), min_size=1)),
    _TABLES, st.sampled_from(["seat", "scuff"]), st.sampled_from(["sofa 1", "love mark 2"]),
)  # fmt: skip
def test_what_is_added_and_taken_out_leaves_what_was_there(
    content: dict[str, dict[str, list[str]]], table: str, id_: str, phrase: str
) -> None:
    before = tomlkit.dumps(content)
    added = with_phrase(before, table, id_, phrase)  # type: ignore[arg-type]
    assert tomllib.loads(added)[table][id_] == [*content.get(table, {}).get(id_, []), phrase]
    assert tomllib.loads(without_phrase(added, phrase)) == {table: {}} | content
