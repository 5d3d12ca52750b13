"""Nothing is written, removed or run outside of what the user named."""

import json
import os
import stat
from contextlib import suppress
from pathlib import Path

import pytest
from click.testing import CliRunner

from pipeline.cli import main
from pipeline.errors import PublishError, RecordError, WearwordError
from pipeline.models import Record
from pipeline.publish.folder import publish
from pipeline.publish.provenance import verify
from pipeline.record import write_atomically, write_record
from pipeline.review.clips import Player, recording_of
from pipeline.times import Interval
from pipeline.walkaround import save
from tests.publish.conftest import nasty_record, video  # noqa: F401 (a fixture)


def told() -> Record:
    """The nasty record, made from captions: no recording is looked for."""
    record = nasty_record()
    alone = {"has_recording": False, "has_video": False, "transcript_origin": "webvtt"}
    source = record.source.model_copy(update=alone)
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


@pytest.mark.parametrize("name", [".journal.lock", "journal.jsonl", "findings.first.json"])
def test_a_review_follows_no_link(name: str, findings: Path, elsewhere: Path) -> None:
    (findings / name).symlink_to(elsewhere / "keep.txt")
    decisions = elsewhere.with_name("decisions.jsonl")
    decisions.write_text('{"kind": "accept", "target": "F001"}\n')
    done = CliRunner(env={"XDG_DATA_HOME": str(findings)}).invoke(
        main, ["review", str(findings), "--decisions", str(decisions), "--who", "Ann"]
    )
    assert done.exit_code == 1
    assert done.output.count("\n") == 1
    assert (elsewhere / "keep.txt").read_text() == "keep"


def test_a_clip_follows_no_link(elsewhere: Path, tmp_path: Path, few_words: Path) -> None:
    (tmp_path / "clips").symlink_to(elsewhere)
    with pytest.raises(RecordError, match="link"):
        Player(few_words, tmp_path / "clips").hear(Interval(start_s=0, end_s=1))
    assert untouched(elsewhere)


def test_logging_follows_no_link_to_a_folder(elsewhere: Path, tmp_path: Path) -> None:
    (tmp_path / "walk.walkaround").symlink_to(elsewhere)
    with pytest.raises(WearwordError, match="link"):
        save(told(), tmp_path / "walk.walkaround")
    assert untouched(elsewhere)


def test_publishing_follows_no_link_to_a_folder(findings: Path, elsewhere: Path) -> None:
    (elsewhere / "keep.txt").unlink()
    (findings / "published").symlink_to(elsewhere)
    with pytest.raises(WearwordError):
        publish(findings)
    assert list(elsewhere.iterdir()) == []


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
        "a\0b",
        "x" * 5000,
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
            id="unpickle",
        ),
        pytest.param(
            "page.html.j2",
            "{{{{ wording.re.enum.sys.modules['os'].system('touch {mark}') }}}}",
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


def test_new_files_are_private_until_they_are_published(tmp_path: Path) -> None:
    captions, decisions = tmp_path / "walk.txt", tmp_path / "decisions.jsonl"
    captions.write_text("[0:05] There is a dent in the tank.\n[0:09] The seat is torn.\n")
    decisions.write_text('{"kind": "accept", "target": "F001"}\n')
    folder = tmp_path / "walk.walkaround"
    commands = [
        ["log", "--transcript", str(captions)],
        ["review", str(folder), "--decisions", str(decisions), "--who", "Ann"],
        ["ledger", str(folder), "--out", str(folder / "ledger.duckdb")],
    ]
    before = os.umask(0o022)
    try:
        run = CliRunner(env={"XDG_DATA_HOME": str(tmp_path / "data")}).invoke
        assert [run(main, command).exit_code for command in commands] == [0, 0, 0]
        private = [folder, *folder.iterdir()]
        assert run(main, ["publish", str(folder)]).exit_code == 0
        assert os.umask(0o022) == 0o022
    finally:
        os.umask(before)
    assert len(private) > 5
    for path in private:
        assert not stat.S_IMODE(path.stat().st_mode) & 0o077, path
    assert stat.S_IMODE((folder / "published" / "page.html").stat().st_mode) == 0o644


# --- names --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "command",
    [
        ["log", "--transcript"],
        ["log"],
        ["publish"],
        ["review"],
        ["batch"],
        ["lexicon", "check"],
        ["verify"],
        ["ledger"],
    ],
    ids=" ".join,
)
def test_the_name_of_a_file_acts_on_no_terminal(command: list[str], tmp_path: Path) -> None:
    name = tmp_path / "a\x1b]0;x\x07\u202e.vtt"
    done = CliRunner().invoke(main, [*command, str(name)])
    assert done.exit_code != 0
    assert done.output.count("\n") <= 4
    assert not set("\x1b\x07\u202e") & set(done.output)


@pytest.mark.parametrize("command", [["log"], ["log", "--transcript"], ["batch"], ["publish"]])
def test_a_name_that_is_no_text_is_refused(command: list[str], tmp_path: Path) -> None:
    name = os.fsdecode(b"caf\xe9.wav")
    (tmp_path / name).write_bytes(b"")
    where = tmp_path if command == ["batch"] else tmp_path / name
    done = CliRunner().invoke(main, [*command, str(where)])
    assert done.exit_code != 0
    assert "not UTF-8" in done.output
