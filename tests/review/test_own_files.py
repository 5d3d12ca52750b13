"""pipeline/review/own_files.py: where the user's own files are, and who may write them."""

from pathlib import Path

import pytest
from filelock import Timeout

from pipeline.errors import ReviewError
from pipeline.review.own_files import chosen_file, locked, own_file


@pytest.mark.parametrize(
    ("choice", "file"),
    [(None, Path("own.json")), ("none", None), ("shop.json", Path("shop.json"))],
)
def test_the_user_chooses(choice: str | None, file: Path | None) -> None:
    assert chosen_file(choice, Path("own.json")) == file


def test_own_files_are_the_users_alone() -> None:
    assert own_file("own.json").is_absolute()
    assert own_file("own.json").name == "own.json"


def test_one_writes_at_a_time(tmp_path: Path) -> None:
    path = tmp_path / "user" / "a.json"
    with locked(path):
        assert path.parent.is_dir()
        with pytest.raises(Timeout):
            locked(path).acquire(timeout=0)


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(ReviewError, match="cannot be written"):
        locked(tmp_path / "file" / "a.json")
