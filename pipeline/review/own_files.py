"""The user's own files, which reviews add to: where they are, and one writer at a time."""

from pathlib import Path

import click
from filelock import FileLock

from pipeline.errors import ReviewError

NO_FILE = "none"


def own_file(name: str) -> Path:
    """Where the user's own file of a name is kept."""
    return Path(click.get_app_dir("wearword")) / name


def chosen_file(choice: str | None, own: Path) -> Path | None:
    """The file that a user chooses: his own where he names none, no file for "none"."""
    if choice == NO_FILE:
        return None
    return own if choice is None else Path(choice)


def locked(path: Path) -> FileLock:
    """A lock on a file for as long as it is read and written, in a folder that is there then.

    Raises ReviewError where the folder cannot be made.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise ReviewError(f"{path}: cannot be written: {error.strerror}") from error
    return FileLock(path.with_suffix(".lock"), timeout=10)
