"""Nothing is written, removed or run outside of what the user named."""

import json
import os
import stat
from contextlib import suppress
from pathlib import Path

import pytest

from pipeline.errors import PublishError, RecordError, WearwordError
from pipeline.models import Record
from pipeline.publish.folder import publish
from pipeline.publish.provenance import verify
from pipeline.record import write_atomically, write_record
from pipeline.review.clips import recording_of
from pipeline.walkaround import save
from tests.publish.conftest import nasty_record, video  # noqa: F401 (a fixture)


def known(reason: str) -> pytest.MarkDecorator:
    return pytest.mark.xfail(strict=True, reason=reason)


def told() -> Record:
    """The nasty record, made from captions: no recording is looked for."""
    record = nasty_record()
    source = record.source.model_copy(update={"has_video": False, "transcript_origin": "webvtt"})
    return record.model_copy(update={"source": source})


@pytest.fixture
def findings(tmp_path: Path) -> Path:
    folder = tmp_path / "walk.walkaround"
    folder.mkdir()
    write_record(told(), folder / "findings.json")
    return folder


@pytest.fixture
def elsewhere(tmp_path: Path) -> Path:
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    (folder / "keep.txt").write_text("keep")
    return folder


def untouched(folder: Path) -> bool:
    return [path.name for path in folder.rglob("*")] == ["keep.txt"]


# --- links --------------------------------------------------------------------------------------


def test_no_file_is_written_through_a_link(elsewhere: Path, tmp_path: Path) -> None:
    link = tmp_path / "findings.json"
    link.symlink_to(elsewhere / "keep.txt")
    with pytest.raises(RecordError, match="link"):
        write_atomically(link, b"new")
    assert (elsewhere / "keep.txt").read_text() == "keep"


@pytest.mark.parametrize("name", ["transcript.vtt", "findings.json"])
def test_logging_follows_no_link(name: str, elsewhere: Path, tmp_path: Path) -> None:
    folder = tmp_path / "walk.walkaround"
    folder.mkdir()
    (folder / name).symlink_to(elsewhere / "new.txt")
    with pytest.raises(WearwordError):
        save(told(), folder)
    assert untouched(elsewhere)


@known("the folder of the publication may be a link")
def test_publishing_follows_no_link_to_a_folder(findings: Path, elsewhere: Path) -> None:
    (elsewhere / "keep.txt").unlink()
    (findings / "published").symlink_to(elsewhere)
    with pytest.raises(WearwordError):
        publish(findings)
    assert list(elsewhere.iterdir()) == []


@known("a link in place of the folder of stills is followed")
def test_publishing_follows_no_link_to_the_stills(
    tmp_path: Path,
    elsewhere: Path,
    video: Path,  # noqa: F811
) -> None:
    (tmp_path / video.name).write_bytes(video.read_bytes())
    write_record(nasty_record(video), tmp_path / "findings.json")
    publish(tmp_path)
    stills = tmp_path / "published" / "stills"
    for path in stills.iterdir():
        path.unlink()
    stills.rmdir()
    stills.symlink_to(elsewhere)
    with pytest.raises(WearwordError):
        publish(tmp_path)
    assert untouched(elsewhere)


# --- a manifest, or a record, that was written by someone else ----------------------------------


@pytest.mark.parametrize(
    "path",
    [
        "../../elsewhere/keep.txt",
        "{tmp}/elsewhere/keep.txt",
        "stills/../../../elsewhere/keep.txt",
        "",
        ".",
        pytest.param("a\0b", marks=known("ValueError: embedded null byte")),
        pytest.param("x" * 5000, marks=known("OSError: file name too long")),
    ],
    ids=ascii,
)
def test_a_manifest_removes_nothing_outside(
    path: str, findings: Path, elsewhere: Path, tmp_path: Path
) -> None:
    manifest = publish(findings).folder / "manifest.json"
    data = json.loads(manifest.read_text())
    data["files"].append({"path": path.format(tmp=tmp_path), "sha256": "0" * 64})
    manifest.write_text(json.dumps(data))
    with suppress(WearwordError):
        verify(manifest.parent)
    with suppress(WearwordError):
        publish(findings)
    assert untouched(elsewhere)
    assert (findings / "findings.json").exists()


@pytest.mark.parametrize("name", ["../elsewhere/keep.txt", "{tmp}/elsewhere/keep.txt"])
@known("the name in the record is taken for a path")
def test_a_record_names_no_recording_elsewhere(
    name: str, findings: Path, elsewhere: Path, tmp_path: Path
) -> None:
    record = told()
    record.source.file_name = name.format(tmp=tmp_path)
    assert elsewhere.exists()
    assert recording_of(record, findings) is None


@pytest.mark.parametrize("name", ["../keep.txt", "/etc/hostname", "a/../../b"])
def test_a_finding_s_id_and_still_name_no_file_elsewhere(
    name: str, findings: Path, elsewhere: Path
) -> None:
    record = told()
    record.findings[0].id = record.findings[0].still = name
    write_record(record, findings / "findings.json")
    done = publish(findings)
    assert all(path.resolve().is_relative_to(findings.resolve()) for path in done.files)
    assert untouched(elsewhere)


# --- templates ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "template"),
    [
        pytest.param(
            "listing_long.txt.j2",
            "{{{{ h.record.parse_raw(\"cos\\nsystem\\n(S'touch {mark}'\\ntR.\", proto='pickle', "
            "allow_pickle=True) }}}}",
            marks=known("pydantic's parse_raw unpickles for whoever can call it"),
            id="unpickle",
        ),
        pytest.param(
            "page.html.j2",
            "{{{{ wording.re.enum.sys.modules['os'].system('touch {mark}') }}}}",
            marks=known("a module is given to the page, and modules lead to os"),
            id="module",
        ),
        pytest.param(
            "listing_long.txt.j2",
            "{{{{ clock.__globals__['re'].enum.sys.modules['os'].system('touch {mark}') }}}}",
            id="globals",
        ),
        pytest.param(
            "listing_long.txt.j2",
            "{{{{ ''.__class__.__mro__[1].__subclasses__() }}}}{{{{ h.record.findings.clear() }}}}",
            id="classes",
        ),
        pytest.param("listing_long.txt.j2", "{{% include '/etc/passwd' %}}", id="include"),
        pytest.param("listing_long.txt.j2", "{{% include '../../x' %}}", id="include above"),
        pytest.param(
            "listing_long.txt.j2", "{{% for i in range(10 ** 9) %}}x{{% endfor %}}", id="range"
        ),
        pytest.param(
            "listing_long.txt.j2", "{{% include 'listing_long.txt.j2' %}}", id="endless include"
        ),
    ],
)
def test_a_template_runs_nothing_and_reads_nothing(
    name: str, template: str, findings: Path, tmp_path: Path
) -> None:
    mark, shop = tmp_path / "mark", tmp_path / "shop"
    shop.mkdir()
    (shop / name).write_text(template.format(mark=mark))
    with pytest.raises(PublishError, match=r"template"):
        publish(findings, templates=shop)
    assert not mark.exists()
    assert not (findings / "published").exists()


# --- what others on the machine may see ---------------------------------------------------------


@known("new files and folders get the user's usual permissions")
def test_new_files_are_private(findings: Path, tmp_path: Path) -> None:
    before = os.umask(0o022)
    try:
        folder = save(told(), tmp_path / "new.walkaround").folder
        made = publish(findings).files
    finally:
        os.umask(before)
    for path in [folder, *folder.iterdir(), *made]:
        assert not stat.S_IMODE(path.stat().st_mode) & 0o077, path
