"""Which recordings a batch is about, and where the findings of each belong."""

import hashlib
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from urllib.parse import urlsplit

from pipeline.errors import BatchError
from pipeline.walkaround import default_folder
from pipeline.wording import is_text

# What cameras, phones and recorders write; anything else in a folder is passed over.
_VIDEO = (".3gp", ".avi", ".m2ts", ".m4v", ".mkv", ".mov", ".mp4", ".mpeg", ".mpg", ".mts", ".ogv",
          ".ts", ".webm", ".wmv")  # fmt: skip
_SOUND = (".aac", ".amr", ".flac", ".m4a", ".mp3", ".oga", ".ogg", ".opus", ".wav", ".wma")
SUFFIXES = frozenset(_VIDEO + _SOUND)
_FINDINGS_SUFFIX = default_folder(Path("any")).suffix


@dataclass(frozen=True)
class Queued:
    """One recording, by path or URL, and the folder that its findings belong in."""

    address: str
    folder: Path


def read_queue(source: Path, out: Path | None = None) -> list[Queued]:
    """The recordings in a folder and those below it, or those that a list names, each once.

    A list is a text file with one path or URL a line; paths are taken from the list's own folder,
    empty lines and such with a `#` at their start are passed over. Findings belong beside each
    recording, or below `out`: in the same subfolders as in the folder, or in one named after the
    folder that a listed recording lies in. Two that would share a folder get a digest of their
    address in the name.

    Raises BatchError where nothing can be read or found, or where a URL is given without `out`.
    """
    source, out = source.absolute(), out and out.absolute()  # workers may stand elsewhere
    if source.is_dir():
        wanted = {
            str(path): default_folder(out / path.relative_to(source) if out else path)
            for path in _recordings_in(source)
        }
    else:
        wanted = {address: _folder_of(address, out) for address in _listed(source)}
    if not wanted:
        raise BatchError(f"{source}: there is no recording in it")
    for address in wanted:
        if not is_text(address):
            raise BatchError(f"{address}: its name is not UTF-8; rename it")
    times = Counter(wanted.values())
    return [
        Queued(address, folder if times[folder] == 1 else told_apart(folder, address))
        for address, folder in wanted.items()
    ]


def is_url(address: str) -> bool:
    """Whether a recording is named by a URL (or a chain of them), and not by a path."""
    return "://" in address


def file_name(address: str) -> str:
    """The last step of a path or URL."""
    return _path_of(address).name


def told_apart(folder: Path, address: str) -> Path:
    """A folder's name with eight hexadecimal digits of the recording's address in it."""
    mark = hashlib.sha256(address.encode()).hexdigest()[:8]
    return folder.with_name(f"{folder.stem}-{mark}{folder.suffix}")


def _recordings_in(folder: Path) -> list[Path]:
    return sorted(
        path
        for path in folder.rglob("*")
        if path.suffix.lower() in SUFFIXES
        and path.is_file()
        and not any(_is_passed_over(part) for part in path.relative_to(folder).parts)
    )


def _is_passed_over(part: str) -> bool:
    """Hidden things, and findings folders, whose clips are no recordings of their own."""
    return part.startswith(".") or _FINDINGS_SUFFIX in part


def _listed(source: Path) -> Iterator[str]:
    if source.suffix.lower() in SUFFIXES:
        raise BatchError(f"{source}: is a recording; give its folder or a list, or use log")
    try:
        lines = source.read_text(encoding="utf-8").splitlines()
    except FileNotFoundError as error:
        raise BatchError(f"{source}: there is no such folder or list") from error
    except OSError as error:
        raise BatchError(f"{source}: cannot be read: {error.strerror}") from error
    except UnicodeDecodeError as error:
        raise BatchError(f"{source}: is no list: one path or URL a line is needed") from error
    for line in lines:
        address = line.strip()
        if address and not address.startswith("#"):
            yield address if is_url(address) else str(source.parent / address)


def _folder_of(address: str, out: Path | None) -> Path:
    path = _path_of(address)
    if out is not None:
        shelf = "" if path.parent.name == ".." else path.parent.name
        return default_folder(out / shelf / path.name)
    if is_url(address):
        raise BatchError(f"{address}: say with --out where the findings of a URL belong")
    return default_folder(Path(address))


def _path_of(address: str) -> PurePosixPath | Path:
    return PurePosixPath(urlsplit(address).path) if is_url(address) else Path(address)
