"""pipeline/review/wordbook.py: phrases are added where they fit, kept, read by, and taken out."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from lexicon.errors import LexiconError
from lexicon.load import FileText, phrases_in
from pipeline.cli import main
from pipeline.errors import RecordError, ReviewError
from pipeline.models import Kind, Record
from pipeline.review.changes import Change
from pipeline.review.wordbook import (
    Wordbook,
    added_phrases,
    lexicon_file,
    lexicon_path,
    shop_words,
    take_out,
)
from pipeline.walkaround import Options, log_transcript
from tests.conftest import ROOT

KINDS: tuple[Kind, ...] = ("motorcycle", "side_by_side", "snowmobile", "watercraft")
CAPTIONS = sorted((ROOT / "tests" / "captions").glob("g*.[vs][tr]t"))


def new(phrase: str, names: str) -> Change:
    """A phrase that comes to the lexicon."""
    return Change(of="lexicon", id=phrase, before=None, after={"names": names})


@pytest.fixture
def words() -> Wordbook:
    """The words of a user who has added none."""
    return Wordbook.of(lexicon_path())


def in_all_but_vehicle(record: Record) -> Record:
    return record.model_copy(update={"vehicle": None})


# --- adding and taking out ----------------------------------------------------------------------


def test_a_phrase_is_kept_and_read_by(words: Wordbook) -> None:
    assert words.understand_text("a love mark on the bum pad", "motorcycle") == []
    later = words.keep([new("love mark", "scuff"), new("bum~pad", "seat")])
    assert later == Wordbook.of(lexicon_path())
    for each in (later, words.after([new("love mark", "scuff"), new("bum~pad", "seat")])):
        [stated] = each.understand_text("a love mark on the bum pad", "motorcycle")
        assert (stated.place.part, stated.defect) == ("seat", "scuff")
        assert each.knows("bum pad", "seat", "motorcycle")
        assert "bum pad" in each.choices("motorcycle").parts["seat"]
    assert added_phrases(lexicon_path()) == [("bum~pad", "seat"), ("love mark", "scuff")]
    assert later.keep([new("love mark", "scuff").reverse]) == Wordbook.of(lexicon_path())
    assert added_phrases(lexicon_path()) == [("bum~pad", "seat")]


def test_nothing_is_written_where_no_phrase_comes_or_goes(words: Wordbook) -> None:
    assert words.keep([Change(of="record", before={}, after={})]) is words
    assert words.keep([new("love mark", "scuff").reverse]) == words
    assert not lexicon_path().exists()


def test_what_others_have_added_meanwhile_stays(words: Wordbook) -> None:
    Wordbook.of(lexicon_path()).keep([new("bum pad", "seat")])
    later = words.keep([new("love mark", "scuff")])
    assert later.extra is not None
    assert phrases_in(later.extra) == [("bum pad", "seat"), ("love mark", "scuff")]
    with pytest.raises(ReviewError, match="'bum pad' already stands for the part 'seat'"):
        words.keep([new("bum pad", "mirror")])


@pytest.mark.parametrize(
    ("phrase", "names", "says"),
    [
        ("gas tank", "seat", "'gas tank' already stands for the part 'fuel_tank'"),
        ("gas tank", "scuff", "'gas tank' already stands for the part 'fuel_tank'"),
        ("hairline crack", "seat", "already stands for the defect 'crack'"),
        ("barely visible", "scuff", "already stands for the qualifier '1'"),
        ("cup holder", "seat", "already stands for the part 'other'"),
        ("the side", "seat", "'the side' is too ordinary: it is said of anything"),
        ("thing", "seat", "too ordinary"),
        ("kg", "seat", "too ordinary"),
        ("700", "seat", "too ordinary"),
        ("---", "seat", "'---' is no phrase"),
        ("café seat", "seat", "is no phrase; write words of letters and digits"),
        ("a\x1b[2J", "seat", "'a' is no phrase"),
    ],
)
def test_a_phrase_that_cannot_be_added_is_refused(
    words: Wordbook, phrase: str, names: str, says: str
) -> None:
    for add in (words.after, words.keep):
        with pytest.raises(ReviewError, match=says) as caught:
            add([new(phrase, names)])
        assert "\n" not in str(caught.value)
    assert not lexicon_path().exists()


def test_without_a_file_no_phrase_is_added() -> None:
    with pytest.raises(ReviewError, match="--lexicon none leaves no file for it"):
        Wordbook().after([new("love mark", "scuff")])
    assert Wordbook().keep([new("love mark", "scuff").reverse]) == Wordbook()


def test_a_file_that_cannot_be_written_is_told(tmp_path: Path, words: Wordbook) -> None:
    target = tmp_path / "elsewhere.toml"
    target.touch()
    lexicon_path().parent.mkdir(parents=True)
    lexicon_path().symlink_to(target)
    with pytest.raises(RecordError, match="is a link"):
        words.keep([new("love mark", "scuff")])
    assert target.read_text() == ""


def test_a_shops_file_is_used_in_place_of_the_users(tmp_path: Path) -> None:
    shop = tmp_path / "shop.toml"
    assert lexicon_file(shop) == shop
    assert lexicon_file(None) == lexicon_path()
    assert lexicon_file(Path("none")) is None
    assert shop_words(None) is shop_words(lexicon_path()) is None
    with pytest.raises(LexiconError, match="cannot be read"):
        shop_words(shop)
    shop.write_text("# ours\n")
    Wordbook.of(shop).keep([new("love mark", "scuff")])
    assert shop.read_text().startswith("# ours\n")
    assert not lexicon_path().exists()


@pytest.mark.parametrize(
    ("typed", "known"), [("love mark", True), ("Love-Mark", True), ("bum pad", False)]
)
def test_a_phrase_is_taken_out(words: Wordbook, typed: str, known: bool) -> None:
    words.keep([new("love mark", "scuff")])
    assert take_out(lexicon_path(), typed) is known
    assert added_phrases(lexicon_path()) == ([] if known else [("love mark", "scuff")])


def test_the_words_added_are_listed_and_taken_out(words: Wordbook) -> None:
    def told(*arguments: str) -> str:
        return CliRunner().invoke(main, ["lexicon", "words", *arguments]).output

    assert told() == "No word was added yet; e in a review does.\n"
    words.keep([new("love mark", "scuff")])
    assert told() == f"love mark -> scuff\nKept in {lexicon_path()}\n"
    assert '"names": "scuff"' in told("--json")
    assert told("--forget", "love mark") == "Forgotten: love mark\n"
    assert told("--forget", "love mark") == "'love mark' is none of the words added.\n"


# --- understanding a talk anew ------------------------------------------------------------------


@pytest.mark.parametrize("captions", CAPTIONS, ids=lambda path: path.stem)
def test_captions_understood_anew_are_what_logging_them_makes(captions: Path) -> None:
    record = log_transcript(captions, None, Options()).record
    for kind in KINDS:
        anew = Wordbook().understand_anew(record, kind)
        wanted = log_transcript(captions, None, Options(kind=kind)).record
        assert in_all_but_vehicle(anew) == in_all_but_vehicle(wanted)
        basis = {"kind_basis": "reviewed"}
        assert anew.vehicle == wanted.vehicle.model_copy(update=basis)


def test_a_recording_understood_anew_is_what_logging_it_made(logged: tuple[Path, Record]) -> None:
    _, record = logged
    anew = Wordbook().understand_anew(record, record.vehicle.kind)
    assert in_all_but_vehicle(anew) == in_all_but_vehicle(record)


def test_the_next_log_reads_what_was_added(tmp_path: Path, words: Wordbook) -> None:
    captions = tmp_path / "walk.vtt"
    captions.write_text(
        "WEBVTT\n\n00:00.000 --> 00:03.000\nThis bike has a love mark on the seat.\n"
    )
    record = log_transcript(captions, None, Options()).record
    words = words.keep([new("love mark", "scuff")])
    later = log_transcript(captions, None, Options(lexicon=words.extra)).record
    assert [(item.part, item.defect) for item in later.findings] == [("seat", "scuff")]
    assert words.understand_anew(record, "motorcycle").findings == later.findings
    assert record.settings.shop_lexicon is None
    assert str(later.settings.shop_lexicon).startswith("0+")


def test_a_fault_in_the_file_names_it() -> None:
    damaged = Wordbook(Path("shop.toml"), FileText("shop.toml", "a = ["))
    with pytest.raises(LexiconError, match=r"shop\.toml: is not valid TOML"):
        damaged.choices("motorcycle")
