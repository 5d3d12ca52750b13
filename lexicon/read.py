"""The lexicon's files: their text and their validated models. All file access is here."""

import reprlib
import tomllib
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

from pydantic import ValidationError

from lexicon.entries import CommonFile, Entry, KindFile
from lexicon.errors import LexiconError

COMMON = "common.toml"
_Model = TypeVar("_Model", bound=Entry)


class FileText(NamedTuple):
    """A file's name, as messages give it, and its text."""

    name: str
    text: str


@lru_cache
def kinds() -> tuple[str, ...]:
    """The kinds of machine that have a lexicon, in alphabetical order."""
    names = (Path(file.name) for file in resources.files("lexicon").joinpath("data").iterdir())
    return tuple(sorted(n.stem for n in names if n.suffix == ".toml" and n.name != COMMON))


def data_text(name: str) -> FileText:
    """A file of `lexicon/data`."""
    file = resources.files("lexicon").joinpath("data", name)
    return FileText(name, file.read_text(encoding="utf-8"))


def extra_text(path: Path) -> FileText:
    """A shop's own file; `LexiconError` where it cannot be read."""
    try:
        return FileText(path.name, path.read_text(encoding="utf-8"))
    except OSError as error:
        raise LexiconError(f"{path}: cannot be read ({error.strerror})") from error
    except UnicodeDecodeError as error:
        raise LexiconError(f"{path}: is not UTF-8 text; save it as UTF-8") from error


@lru_cache
def common_file() -> CommonFile:
    """`common.toml`."""
    return validated(data_text(COMMON), CommonFile)


@lru_cache
def kind_file(kind: str) -> KindFile:
    """A kind's file."""
    return validated(data_text(f"{kind}.toml"), KindFile)


def validated(file: FileText, model: type[_Model]) -> _Model:
    """A file's text as a model; the `LexiconError` of a bad one names every faulty entry."""
    try:
        data = tomllib.loads(file.text)
    except (ValueError, RecursionError) as error:  # also of a number with thousands of digits
        raise LexiconError(f"{file.name}: is not valid TOML: {error}") from error
    try:
        return model.model_validate(data)
    except ValidationError as error:
        raise LexiconError(*(_in_words(file.name, fault) for fault in error.errors())) from error


def _in_words(file: str, fault: Any) -> str:
    entry = ".".join(str(step) for step in fault["loc"] if step != "[key]")
    wrong = {
        "extra_forbidden": "there is no such field; check the spelling",
        "missing": "is missing; write it",
    }.get(fault["type"], f"{fault['msg']}, not {reprlib.repr(fault['input'])}")
    return f"{file}, {entry}: {wrong}"
