"""pipeline/review/learned.py: corrections teach, contradict each other, and are forgotten."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from lexicon.load import load_lexicon
from pipeline.batch.running import is_made_with
from pipeline.cli import main
from pipeline.errors import RecordError, ReviewError
from pipeline.models import Vehicle
from pipeline.record import write_record
from pipeline.review.decisions import Accept, Amend, Amendment, Reread, Strike, Undo
from pipeline.review.learned import (
    Learned,
    Lesson,
    Reading,
    forget,
    learn,
    learned_file,
    learned_path,
    misheard,
    read_learned,
    readings,
    taught,
    teach,
)
from pipeline.walkaround import Options, log_transcript, settings_of
from pipeline.weigh.lessons import Taught, digest_of
from tests.review.conftest import Opened
from tests.review.records import NOON, WORDS, finding, flagged, record

TERMS = {"saddlebag", "tail light", "rotor", "brake rotor", "tank", "trunk", "horn", "cover"}


def lesson(
    heard: str = "settle bag",
    read_as: str = "saddlebag",
    recording: str = "a",
    by: str = "Ann",
    at: datetime = NOON,
) -> Lesson:
    """A lesson about the words "settle bag"."""
    return Lesson(heard=heard, read_as=read_as, recording=recording, target="F001", by=by, at=at)


@pytest.mark.parametrize(
    ("heard", "read_as", "expected"),
    [
        ("Crack in the settle bag, lid", "crack in the saddlebag lid", ("settle bag", "saddlebag")),
        ("tale light cracked", "tail light cracked", ("tale light", "tail light")),
        ("rust on brake rotter", "rust on brake rotor", ("rotter", "rotor")),
        ("the taillite is cracked", "the tail light is cracked", ("taillite", "tail light")),
        ("crack in the saddlebag", "crack in the saddlebag", None),
        ("dent in the tank", "dent in the trunk", None),
        ("rust over it", "rust cover it", None),
        ("rust orn", "rust horn", None),
        ("the whatsit is bent", "the saddlebag is bent", None),
        ("a lid", "a lit", None),
        ("light", "tail light", None),
        ("", "saddlebag", None),
    ],
    ids=[
        "two words for one", "with its neighbour", "alone", "one word for two", "heard rightly",
        "a term itself", "an everyday word", "too short", "not alike", "no term", "a word left out",
        "nothing heard",
    ],
)  # fmt: skip
def test_what_was_misheard(heard: str, read_as: str, expected: tuple[str, str] | None) -> None:
    item = finding(1, "saddlebag", "crack", 1, heard=heard, read_as=read_as)
    assert list(misheard(item, TERMS)) == ([expected] if expected else [])


def test_settled_findings_teach(path: Path, tmp_path: Path, opened: Opened) -> None:
    heard = {"heard": "crack in the settle bag", "read_as": "crack in the saddlebag"}
    findings = [
        flagged(1, "saddlebag", "crack", 1, **heard),
        flagged(2, "saddlebag", "crack", 2, **heard | {"heard": "crack in the saddle back"}),
        flagged(3, "saddlebag", "crack", 3, heard="dent mirth", read_as="dent mirth"),
        flagged(4, "saddlebag", "crack", 4, **heard | {"heard": "crack in the cattle bag"}),
        finding(5, "saddlebag", "crack", 5, **heard | {"heard": "crack in the battle bag"}),
    ]
    write_record(record(findings=findings), path)
    with opened(path) as sitting:
        sitting.decide(Accept(target="F001"))
        sitting.decide(Amend(target="F002", to=Amendment(severity=2)))
        sitting.decide(Reread(target="F003", said="dent mirror"))
        sitting.decide(Strike(target="F004"))
    file = tmp_path / "user" / "learned.json"
    taught = learn(path, WORDS, file)
    assert [(item.target, item.heard, item.read_as) for item in taught] == [
        ("F001", "settle bag", "saddlebag"),
        ("F002", "saddle back", "saddlebag"),
        ("F003", "mirth", "mirror"),
    ]
    assert taught[0].by == "Ann"
    assert read_learned(file).lessons == taught == learn(path, WORDS, file)
    with opened(path) as sitting:
        sitting.decide(Undo(number=1))
    assert [item.target for item in learn(path, WORDS, file)] == ["F002", "F003"]
    assert [item.target for item in read_learned(file).lessons] == ["F002", "F003"]


def test_a_review_that_teaches_nothing_leaves_no_file(path: Path, tmp_path: Path) -> None:
    assert learn(path, WORDS, tmp_path / "user" / "learned.json") == []
    assert not (tmp_path / "user").exists()


@pytest.mark.parametrize(
    ("said", "in_force"),
    [
        (["saddlebag"], "saddlebag"),
        (["saddlebag", "side bag"], None),
        (["saddlebag", "side bag", "saddlebag"], "saddlebag"),
        (["saddlebag", "side bag", "saddlebag", "cover"], None),
    ],
)
def test_contradicting_lessons_cancel(said: list[str], in_force: str | None) -> None:
    lessons = [lesson(read_as=text, recording=str(i)) for i, text in enumerate(said)]
    found = readings(Learned(lessons=lessons))
    assert [reading.read_as for reading in found] == ([in_force] if in_force else [])


def test_a_reading_tells_how_often_and_by_whom() -> None:
    lessons = [lesson(by="Ben"), lesson(by="Ann"), lesson(by="Ben"), lesson(heard="rotter")]
    assert readings(Learned(lessons=lessons)) == [
        Reading("rotter", "saddlebag", 1, ("Ann",)),
        Reading("settle bag", "saddlebag", 3, ("Ann", "Ben")),
    ]


def test_what_is_forgotten_can_be_taught_anew(tmp_path: Path) -> None:
    path = tmp_path / "learned.json"
    teach(path, "a", [lesson(), lesson(heard="rotter", read_as="rotor")])
    assert forget(path, "settle bag", NOON + timedelta(hours=1))
    assert [reading.heard for reading in readings(read_learned(path))] == ["rotter"]
    assert not forget(path, "settle bag", NOON)
    teach(path, "a", [lesson()])  # the same recording, reviewed again
    assert readings(read_learned(path)) == []
    teach(path, "b", [lesson(recording="b", at=NOON + timedelta(hours=2))])
    assert [reading.heard for reading in readings(read_learned(path))] == ["settle bag"]


@pytest.mark.parametrize("content", [b"{", b"[]", b'{"lessons": [{}]}', b"\xff"])
def test_a_damaged_file_is_told_and_kept(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "learned.json"
    path.write_bytes(content)
    with pytest.raises(ReviewError, match="is not a file of learned readings"):
        teach(path, "a", [])
    assert path.read_bytes() == content


def test_a_place_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises((ReviewError, RecordError), match="cannot be"):
        teach(tmp_path / "file" / "learned.json", "a", [])


def test_the_users_own_folder_is_used() -> None:
    assert learned_path().name == "learned.json"
    assert learned_path().is_absolute()


@pytest.mark.parametrize(
    ("choice", "file"),
    [(None, "learned.json"), ("none", None), ("shop.json", "shop.json")],
)
def test_the_user_chooses_where_it_is_kept(choice: str | None, file: str | None) -> None:
    found = learned_file(choice)
    assert (found and found.name) == file


def test_what_is_in_force_is_taught(tmp_path: Path) -> None:
    path = tmp_path / "shop.json"
    with pytest.raises(ReviewError, match="there is no such file"):
        taught(path)
    teach(path, "a", [lesson(), lesson(heard="rotter", read_as="rotor")])
    teach(path, "b", [lesson(recording="b", read_as="side bag"), lesson("rotter", "rotor", "b")])
    assert taught(path) == (Taught("rotter", "rotor", 2),)
    assert taught(None) == ()


def test_kept_nowhere(path: Path, opened: Opened) -> None:
    with opened(path) as sitting:
        sitting.decide(Reread(target="F002", said="rust fuel_tank"))
    assert learn(path, WORDS, None) == []


CAPTIONS = """WEBVTT

00:00.000 --> 00:03.000
The mirror is fine. There is a crack in the flimsy wallet.
"""


def test_the_next_log_reads_what_was_corrected(tmp_path: Path) -> None:
    captions, file = tmp_path / "walk.vtt", tmp_path / "learned.json"
    captions.write_text(CAPTIONS)
    plain = log_transcript(captions, None, Options()).record
    assert [item.part for item in plain.findings] != ["saddlebag"]
    teach(file, "another", [lesson("flimsy wallet")])
    record = log_transcript(captions, None, Options(learned=taught(file))).record
    [found] = record.findings
    assert (found.part, found.defect) == ("saddlebag", "crack")
    assert "flimsy wallet" in found.heard
    assert (plain.settings.learned, record.settings.learned) == (None, digest_of(taught(file)))


def test_what_is_learned_is_listed_and_forgotten(tmp_path: Path) -> None:
    file = str(tmp_path / "shop.json")
    teach(Path(file), "a", [lesson(at=datetime(2021, 5, 4, tzinfo=UTC))])

    def told(*arguments: str) -> str:
        return CliRunner().invoke(main, ["lexicon", "learned", "--file", file, *arguments]).output

    assert told() == f"settle bag -> saddlebag (once, by Ann)\nKept in {file}\n"
    assert told("--forget", "settle bag") == "Forgotten: settle bag\n"
    assert told() == "Nothing learned yet; a review teaches.\n"


def test_what_was_learned_since_makes_no_record_undone() -> None:
    learned, listening = (Taught("settle bag", "saddlebag", 1),), Options().listening
    made = record(
        vehicle=Vehicle(kind="motorcycle", kind_basis="talk"),
        settings=settings_of(load_lexicon("motorcycle"), listening, learned),
    )
    assert is_made_with(made, Options(learned=learned))
    assert is_made_with(made, Options(learned=(learned[0]._replace(times=2),)))
