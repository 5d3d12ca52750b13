"""The findings file on disk: read, checked, written whole or not at all, described by a schema.

`write_atomically` is the one way in which Wearword replaces a file: whoever reads it, whenever the
power fails, sees the old content or the new.
"""

import errno
import glob
import json
import os
import re
import secrets
import stat
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from pipeline.errors import RecordError
from pipeline.models import SCHEMA, CleanPart, Finding, Line, Record
from pipeline.times import LATEST_S

FILE_NAME = "findings.json"

# Content of an older schema -> the same content in the next one. The first schema has no elders.
MIGRATIONS: dict[str, Callable[[dict[str, Any]], dict[str, Any]]] = {}

_SCHEMA_NAME = re.compile(r"wearword/findings/(\d+)")


def is_file(path: Path) -> bool:
    """Whether a path leads to a file; False also where a name is none that a file can have."""
    return os.path.isfile(path)  # noqa: PTH113 (Path.is_file raises for a name that is too long)


def findings_path(path: Path) -> Path:
    """The findings file itself, where `path` may also be the folder that holds it."""
    return path / FILE_NAME if path.is_dir() else path


def read_record(path: Path) -> Record:
    """Reads and checks a findings file, or the one in a folder.

    Raises RecordError, with the field where one is at fault, if the file is missing, is not JSON,
    has another or a newer schema, or breaks a rule of the record.
    """
    path = findings_path(path)
    try:
        content = path.read_bytes()
    except FileNotFoundError as error:
        raise RecordError(
            f"{path}: there is no findings file here; make one with `wearword log RECORDING`"
        ) from error
    except OSError as error:
        raise RecordError(f"{path}: cannot be read: {error.strerror}") from error
    return record_from_json(content, str(path))


def record_from_json(content: bytes, name: str) -> Record:
    """Reads and checks the content of a findings file; `name` stands first in every error.

    Raises RecordError as `read_record` does.
    """
    data = _in_current_schema(_parse(content, name), name)
    try:
        record = Record.model_validate(data)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(step) for step in first["loc"])
        raise RecordError(f"{name}: {where}: {first['msg']}") from error
    for fault in _faults(record):
        raise RecordError(f"{name}: {fault}")
    return record


def record_to_json(record: Record) -> bytes:
    """The content of a findings file: UTF-8, indented by two, fields in the contract's order.

    Raises RecordError where a number is not finite, which JSON cannot hold.
    """
    try:
        text = json.dumps(record.to_json(), indent=2, ensure_ascii=False, allow_nan=False)
        return (text + "\n").encode("utf-8")
    except ValueError as error:
        raise RecordError(f"the record cannot be written as JSON: {error}") from error


def write_record(record: Record, path: Path) -> None:
    """Writes a findings file (or the one in a folder) whole, or leaves what is there untouched.

    Raises RecordError where it cannot be written.
    """
    write_atomically(findings_path(path), record_to_json(record))


def write_atomically(path: Path, content: bytes) -> None:
    """Replaces a file's content at once: a reader or a crash meets the old content or the new.

    The new content is written beside the file under a name of its own that only the user can read,
    brought to disk, and then renamed. A file that is replaced keeps its permissions; a new one gets
    the user's usual ones. A link is refused, so that nothing is written elsewhere through it.

    Raises RecordError where the file cannot be written; the draft is removed again.
    """
    draft = path.parent / f".{path.name}.{secrets.token_hex(8)}.tmp"
    try:
        if path.is_symlink():
            raise RecordError(f"{path}: is a link; name the file that it points to instead")
        try:
            with draft.open("xb") as file:
                mode = stat.S_IMODE((path if path.exists() else draft).stat().st_mode)
                draft.chmod(0o600)
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            draft.chmod(mode)
            draft.replace(path)
        except BaseException:
            with suppress(OSError):
                draft.unlink()
            raise
        sync_folder(path.parent)
    except OSError as error:
        raise RecordError(f"{path}: cannot be written: {error.strerror or error}") from error


def drafts(path: Path) -> list[Path]:
    """What writes of a file have left beside it that were killed before they ended."""
    return sorted(path.parent.glob(f".{glob.escape(path.name)}.*.tmp"))


def sync_folder(folder: Path) -> None:
    """Brings a folder's list of names to disk, where the system lets a folder be opened at all."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno != errno.EINVAL:  # some network file systems sync by themselves and say so
            raise
    finally:
        os.close(handle)


def json_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a findings file, made from the models."""
    schema = Record.model_json_schema(by_alias=True)
    schema["properties"]["schema"]["const"] = SCHEMA
    schema["required"] = ["schema", *schema["required"]]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": SCHEMA,
        **schema,
        "title": "Wearword findings file",
    }


def _parse(content: bytes, name: str) -> dict[str, Any]:
    try:
        data = json.loads(content, parse_constant=_refuse_constant)
    except (ValueError, RecursionError) as error:
        raise RecordError(f"{name}: is not JSON: {error}") from error
    if not isinstance(data, dict):
        raise RecordError(f"{name}: is no findings file: an object is needed at the top")
    try:
        json.dumps(data, ensure_ascii=False).encode("utf-8")
    except UnicodeEncodeError as error:  # JSON's escapes can write one, no file can hold it
        raise RecordError(f"{name}: holds half a character (a lone surrogate)") from error
    return data


def _refuse_constant(text: str) -> None:
    raise ValueError(f"{text} is not a JSON number")


def _in_current_schema(data: dict[str, Any], name: str) -> dict[str, Any]:
    while (found := data.get("schema")) != SCHEMA:
        migrate = MIGRATIONS.get(found) if isinstance(found, str) else None
        if migrate is None:
            raise RecordError(f"{name}: {_why_refused(found)}")
        data = migrate(data)
    return data


def _why_refused(found: object) -> str:
    if found is None:
        return f"schema: is missing; a findings file says '{SCHEMA}'"
    numbered = _SCHEMA_NAME.fullmatch(found) if isinstance(found, str) else None
    ours = _SCHEMA_NAME.fullmatch(SCHEMA)
    if numbered and ours and int(numbered[1]) > int(ours[1]):
        return f"schema: '{found}' is newer than this program's '{SCHEMA}'; update Wearword"
    return f"schema: '{found}' is not a findings file's '{SCHEMA}'"


def _faults(record: Record) -> Iterator[str]:
    """Rules that types do not tell: ids stand once and can be shown, times are possible."""
    if not abs(record.source.duration_s) <= LATEST_S:
        yield f"source: no recording is {record.source.duration_s} s long"
    ids = {"findings": [finding.id for finding in record.findings]}
    ids["lines"] = [line.id for line in record.lines]
    for name, given in ids.items():
        for key, times in Counter(given).items():
            if times > 1:
                yield f"{name}: the id '{key}' stands {times} times"
            if not key.isprintable():
                yield f"{name}: {key!a} is no id; letters and digits are"
    timed: dict[str, Sequence[Finding | Line | CleanPart]] = {
        "findings": record.findings,
        "lines": record.lines,
        "clean": record.clean,
    }
    for name, items in timed.items():
        for i, item in enumerate(items):
            if item.end_s < item.start_s:
                yield f"{name}.{i}: ends at {item.end_s} s before it starts at {item.start_s} s"
            if not -LATEST_S <= item.start_s <= item.end_s <= LATEST_S:
                yield f"{name}.{i}: no recording has a time of {item.start_s} s or {item.end_s} s"
