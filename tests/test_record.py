"""pipeline/record.py: a findings file is read whole, checked, and written whole or not at all."""

import errno
import json
import os
import stat
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from pipeline.errors import RecordError
from pipeline.models import SCHEMA
from pipeline.record import (
    MIGRATIONS,
    json_schema,
    read_record,
    record_to_json,
    sync_folder,
    write_atomically,
    write_record,
)
from tests.killing import killed_at
from tests.review.records import record


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A findings file."""
    write_record(record(), tmp_path / "findings.json")
    return tmp_path / "findings.json"


def edited(path: Path, edit: Callable[[dict[str, Any]], object]) -> Path:
    """The findings file with its content changed."""
    data = json.loads(path.read_text())
    edit(data)
    path.write_text(json.dumps(data))
    return path


def test_what_is_written_is_read_again(path: Path) -> None:
    assert read_record(path) == record()
    assert read_record(path.parent) == record()


def test_unknown_fields_survive(path: Path) -> None:
    def add_news(data: dict[str, Any]) -> None:
        data["news"] = {"a": [1, None]}
        data["findings"][0]["mood"] = "glum"
        data["lines"][0]["words"][0]["pitch_hz"] = 110.5

    edited(path, add_news)
    before = json.loads(path.read_text())
    write_record(read_record(path), path)
    assert json.loads(path.read_text()) == before


def test_the_file_is_indented_utf_8_in_the_order_of_the_contract(path: Path) -> None:
    edited(path, lambda data: data["vehicle"].update(make="Føhn"))
    write_record(read_record(path), path)
    text = path.read_bytes().decode("utf-8")
    assert "Føhn" in text
    assert text.startswith('{\n  "schema": "wearword/findings/1",\n  "source"')
    assert text.endswith("}\n")
    names = ["schema", "source", "vehicle", "findings", "clean", "unmentioned", "lines", "settings"]
    assert list(json.loads(text)) == names


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("{", "is not JSON"),
        ("", "is not JSON"),
        ("\xff", "is not JSON"),
        ("[" * 100_000, "is not JSON"),
        ('{"schema": NaN}', "NaN is not a JSON number"),
        ("[]", "an object is needed"),
        ("{}", "schema: is missing"),
        ('{"schema": "wearword/findings/2"}', "newer than this program's"),
        ('{"schema": "wearword/findings/0"}', "is not a findings file's"),
        ('{"schema": "another/1"}', "is not a findings file's"),
        ('{"schema": 1}', "is not a findings file's"),
        (f'{{"schema": "{SCHEMA}"}}', "source: Field required"),
    ],
)
def test_what_is_no_findings_file_is_refused_in_one_line(
    tmp_path: Path, content: str, says: str
) -> None:
    path = tmp_path / "findings.json"
    path.write_bytes(content.encode("latin-1"))
    with pytest.raises(RecordError) as caught:
        read_record(path)
    assert says in str(caught.value)
    assert str(path) in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("edit", "says"),
    [
        (lambda data: data["findings"][1].update(severity=6), "findings.1.severity: "),
        (lambda data: data["findings"][1].pop("part"), "findings.1.part: Field required"),
        (lambda data: data["lines"][0].update(status="odd"), "lines.0.status: "),
        (lambda data: data["findings"][1].update(id="F001"), "findings: the id 'F001' stands 2"),
        (lambda data: data["lines"][1].update(id="L001"), "lines: the id 'L001' stands 2 times"),
        (lambda data: data["findings"][0].update(end_s=0), "findings.0: ends at 0.0 s before it"),
        (lambda data: data["lines"][2].update(end_s=0), "lines.2: ends at 0.0 s before it"),
    ],
)
def test_a_field_at_fault_is_named(
    path: Path, edit: Callable[[dict[str, Any]], object], says: str
) -> None:
    with pytest.raises(RecordError, match=says):
        read_record(edited(path, edit))


def test_a_missing_file_says_how_to_make_one(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="wearword log"):
        read_record(tmp_path)
    with pytest.raises(RecordError, match="wearword log"):
        read_record(tmp_path / "absent" / "findings.json")


def test_an_older_schema_is_brought_up(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    edited(path, lambda data: data.update(schema="wearword/findings/0"))
    monkeypatch.setitem(MIGRATIONS, "wearword/findings/0", lambda data: data | {"schema": SCHEMA})
    assert read_record(path) == record()


def test_a_number_that_json_lacks_is_refused() -> None:
    endless = record()
    endless.source.duration_s = float("inf")
    with pytest.raises(RecordError, match="cannot be written as JSON"):
        record_to_json(endless)


# --- writing --------------------------------------------------------------------------------------


def test_a_new_file_has_the_users_permissions_and_an_old_one_keeps_its_own(tmp_path: Path) -> None:
    path, plain = tmp_path / "a", tmp_path / "b"
    write_atomically(path, b"new")
    plain.touch()
    assert path.stat().st_mode == plain.stat().st_mode
    path.chmod(0o640)
    write_atomically(path, b"newer")
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert path.read_bytes() == b"newer"


def test_content_is_readable_by_the_user_alone_while_it_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[int] = []
    sync = os.fsync

    def note_mode(handle: int) -> None:
        seen.append(stat.S_IMODE(os.fstat(handle).st_mode))
        sync(handle)

    monkeypatch.setattr(os, "fsync", note_mode)
    write_atomically(tmp_path / "a", b"new")
    assert seen[0] == 0o600
    assert len(seen) == 2, "file and folder are both brought to disk"


def test_a_link_is_not_written_through(tmp_path: Path) -> None:
    target, link = tmp_path / "target", tmp_path / "findings.json"
    target.write_bytes(b"old")
    link.symlink_to(target)
    with pytest.raises(RecordError, match="is a link"):
        write_atomically(link, b"new")
    assert target.read_bytes() == b"old"
    assert link.is_symlink()


@pytest.mark.parametrize(
    ("function", "number", "says"),
    [
        ("fsync", errno.ENOSPC, "No space left on device"),
        ("fsync", errno.EIO, "Input/output error"),
        ("replace", errno.EACCES, "Permission denied"),
        ("chmod", errno.EROFS, "Read-only file system"),
    ],
)
def test_a_failed_write_leaves_the_old_file_and_nothing_else(
    path: Path, monkeypatch: pytest.MonkeyPatch, function: str, number: int, says: str
) -> None:
    old = path.read_bytes()

    def fail(*_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, function, fail)
    with pytest.raises(RecordError, match=f"{path}: cannot be written: {says}"):
        write_record(record(), path)
    assert path.read_bytes() == old
    assert [item.name for item in path.parent.iterdir()] == ["findings.json"]


def test_an_interrupted_write_leaves_the_old_file_and_nothing_else(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupt(_handle: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupt)
    with pytest.raises(KeyboardInterrupt):
        write_atomically(path, b"new")
    assert [item.name for item in path.parent.iterdir()] == ["findings.json"]


@pytest.mark.parametrize("name", ["absent/findings.json", "file/findings.json", ""])
def test_a_place_that_cannot_be_written_is_named(tmp_path: Path, name: str) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(RecordError, match=str(tmp_path)):
        write_atomically(tmp_path / name, b"new")
    assert [item.name for item in tmp_path.iterdir()] == ["file"]


def test_a_folder_that_cannot_be_synced_is_no_fault(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def only_files(handle: int) -> None:
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(errno.EINVAL, os.strerror(errno.EINVAL))

    monkeypatch.setattr(os, "fsync", only_files)
    write_atomically(path, b"new")
    assert path.read_bytes() == b"new"


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_killed_anywhere_the_old_file_or_the_new_is_there(path: Path) -> None:
    old, new = path.read_bytes(), b"x" * 100_000
    left: set[bytes] = set()
    step = 0
    while killed_at(step, partial(write_atomically, path, new), (write_atomically, sync_folder)):
        left.add(path.read_bytes())
        path.write_bytes(old)
        step += 1
    assert step > 10
    assert left == {old, new}


# --- schema ---------------------------------------------------------------------------------------


def test_the_schema_names_itself_and_the_contracts_fields() -> None:
    schema = json_schema()
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["properties"]["schema"]["const"] == SCHEMA
    assert "schema" in schema["required"]
    fields = schema["$defs"]["Finding"]["properties"]
    assert fields.keys() >= set(record().to_json()["findings"][0])
    assert json.loads(json.dumps(schema)) == schema
