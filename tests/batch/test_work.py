"""pipeline/batch/work.py: looking at a recording, hearing it, and what goes wrong with it."""

from pathlib import Path

import pytest

from lexicon.errors import LexiconError
from pipeline.batch import work
from pipeline.batch.work import Failure, Job, Look, attempt, look
from pipeline.errors import MediaError, WeightsError
from pipeline.listen.media import digest
from pipeline.walkaround import Logged, Options
from tests.batch.fakes import recording
from tests.review.records import record


def test_a_look_tells_content_and_length(tmp_path: Path) -> None:
    path = recording(tmp_path / "a.wav", seconds=0.5)
    seen = look(str(path), Options())
    assert seen.sha256 == digest(path)
    assert seen.duration_s == pytest.approx(0.5, abs=0.01)


def test_an_unchanged_file_is_not_read_again(tmp_path: Path) -> None:
    path = recording(tmp_path / "a.wav")
    seen = look(str(path), Options())
    known = Look(seen.stamp, "known before", 3.0)
    assert look(str(path), Options(), known) == known
    recording(path, number=2, seconds=0.2)
    assert look(str(path), Options(), known).sha256 == digest(path)


def test_a_url_is_read_through_its_file_system(tmp_path: Path) -> None:
    path = recording(tmp_path / "a.wav")
    seen = look(path.as_uri(), Options())
    assert seen.sha256 == digest(path)
    assert seen.stamp is not None
    known = Look(seen.stamp, "known before", None)
    assert look(path.as_uri(), Options(), known) == known


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("gone.wav", "no such file"),
        ("file:///nowhere/gone.wav", "cannot be fetched"),
        ("strange://host/gone.wav", "cannot be fetched"),
    ],
)
def test_what_cannot_be_read(tmp_path: Path, name: str, said: str) -> None:
    with pytest.raises(MediaError, match=said):
        look(name if "://" in name else str(tmp_path / name), Options())


def test_the_model_is_loaded_once_and_a_copy_is_deleted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    loaded: list[object] = []
    given: list[Path] = []

    def load(*_settings: object) -> object:
        loaded.append(object())
        return loaded[-1]

    def log(path: Path, _options: Options, *, listeners: object) -> Logged:
        assert listeners is loaded[0]
        assert path.exists()
        given.append(path)
        return Logged(record())

    monkeypatch.setattr(work, "Listeners", load)
    monkeypatch.setattr(work, "log_recording", log)
    work._listeners.cache_clear()
    path = recording(tmp_path / "a.wav")
    work.hear(str(path), Options())
    work.hear(path.as_uri(), Options())
    work._listeners.cache_clear()
    assert len(loaded) == 1
    assert given[0] == path
    assert given[1].name == "a.wav"
    assert not given[1].exists()


@pytest.mark.parametrize(
    ("error", "failure"),
    [
        (MediaError("a.wav: is bad"), Failure("a.wav: is bad")),
        (LexiconError("typo"), Failure("typo")),
        (WeightsError("none"), Failure("none", for_all=True)),
        (MemoryError(), Failure("a.wav: there is not enough memory for it")),
        (ZeroDivisionError("by\nzero"), Failure("a.wav: ZeroDivisionError: by")),
        (ZeroDivisionError(), Failure("a.wav: ZeroDivisionError: without a word")),
    ],
    ids=repr,
)
def test_every_failure_is_one_line(error: Exception, failure: Failure) -> None:
    def task(_address: str, _options: Options) -> object:
        raise error

    assert attempt(Job(task, "a.wav", Options())) == failure
