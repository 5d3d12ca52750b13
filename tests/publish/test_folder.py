import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from pipeline.errors import PublishError, ReviewError
from pipeline.publish.folder import publish
from pipeline.publish.provenance import read_manifest, verify
from pipeline.record import read_record, write_record

Change = Callable[[Any], object]

EVERY_FILE = {
    "page.html",
    "listing.txt",
    "listing-short.txt",
    "listing.md",
    "listing.jsonld",
    "annotations.jsonld",
    "captions.vtt",
    "chapters.vtt",
    "chapters.txt",
    "flaws.csv",
    "stills.json",
    "manifest.json",
}


def names(folder: Path) -> set[str]:
    return {p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()}


def test_everything_an_ad_writer_needs_is_published(logged: Path) -> None:
    shares: list[float] = []
    done = publish(logged, progress=shares.append)
    found = names(done.folder)
    assert done.folder == logged.parent / "published"
    assert {name for name in found if not name.startswith("stills/")} == EVERY_FILE
    assert {path.relative_to(done.folder).as_posix() for path in done.files} == found
    assert done.page.read_text("utf-8").startswith("<!doctype html>")
    assert done.notices == ("1 unreviewed finding left out; settle with `wearword review`",)
    assert verify(done.folder) == []
    assert shares[-1] == 1.0


def test_stills_carry_their_exact_time(logged: Path) -> None:
    folder = publish(logged).folder
    index = json.loads((folder / "stills.json").read_text())
    assert set(index) == {"F001", "F002", "F003", "F004", "F005", "F008"}
    for shown in index.values():
        for still in shown:
            assert still["time_s"] % 0.25 == 0
            assert f"-{still['time_s']:.3f}s.jpg" in still["file"]
            image = Image.open(io.BytesIO((folder / still["file"]).read_bytes()))
            assert image.size == (192, 108)
            assert (folder / still["thumbnail"]).exists()


def test_the_reviewers_choice_of_still_comes_first(logged: Path) -> None:
    folder = publish(logged).folder
    index = json.loads((folder / "stills.json").read_text())
    choice = index["F001"][2]["file"]
    record = read_record(logged)
    record.findings[0].still = f"published/{choice}"
    write_record(record, logged)
    folder = publish(logged).folder
    chosen = json.loads((folder / "stills.json").read_text())["F001"]
    assert chosen[0]["file"] == choice
    assert {s["file"] for s in chosen} == {s["file"] for s in index["F001"]}


def test_a_better_still_can_be_named(logged: Path) -> None:
    folder = publish(logged).folder
    choice = json.loads((folder / "stills.json").read_text())["F002"][1]["file"]
    publish(logged, first_stills=[choice])
    assert json.loads((folder / "stills.json").read_text())["F002"][0]["file"] == choice
    with pytest.raises(PublishError, match=r"F002-0s\.jpg: is no still"):
        publish(logged, first_stills=["F002-0s.jpg"])
    assert verify(folder) == []


def test_publishing_again_makes_the_same_and_removes_what_was_struck(logged: Path) -> None:
    folder = publish(logged).folder
    before = {name: (folder / name).read_bytes() for name in names(folder)}
    publish(logged)
    assert {name: (folder / name).read_bytes() for name in names(folder)} == before
    record = read_record(logged)
    record.findings[0].status = "struck"
    write_record(record, logged)
    assert verify(folder) == ["../findings.json: was changed"]
    publish(logged)
    assert verify(folder) == []
    assert not [name for name in names(folder) if "F001" in name]


def test_unreviewed_findings_are_published_marked_if_asked_for(logged: Path) -> None:
    done = publish(logged, include_unconfirmed=True)
    assert done.notices == ("1 unreviewed finding published, marked as unconfirmed",)
    for name in ("listing.txt", "listing.md", "listing.jsonld", "annotations.jsonld", "flaws.csv"):
        assert "Unconfirmed: Leak on the left fork" in (done.folder / name).read_text("utf-8")


def test_a_web_address_and_a_pattern_make_the_links(logged: Path, tmp_path: Path) -> None:
    done = publish(
        logged,
        out=tmp_path / "elsewhere" / "deep",
        video_url="https://shop.example/walk.mp4",
        link_pattern="https://host.example/v?id=1&t={start_whole_s}",
        lead_in_s=1.0,
        units="mm",
    )
    text = (done.folder / "listing.txt").read_text("utf-8")
    assert "https://host.example/v?id=1&t=7\n" in text
    assert "about 51 mm" in text
    assert 'src="https://shop.example/walk.mp4"' in done.page.read_text("utf-8")


def test_a_folder_above_may_hold_the_recording(logged: Path, video: Path) -> None:
    inner = logged.parent / "walk"
    inner.mkdir()
    logged.rename(inner / "findings.json")
    done = publish(inner)
    assert 'src="../../walk%20%231%20%27round.mp4"' in done.page.read_text("utf-8")
    assert video.name == read_record(inner).source.file_name


def test_without_the_recording_there_are_words_only(logged: Path, video: Path) -> None:
    (logged.parent / video.name).unlink()
    done = publish(logged)
    assert "is not beside the findings file: no stills" in done.notices[-1]
    assert "stills.json" not in names(done.folder)
    assert "<video" not in done.page.read_text("utf-8")
    assert read_manifest(done.folder).recording is None


def test_a_recording_that_has_moved_can_be_named(
    logged: Path, video: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    moved = tmp_path_factory.mktemp("archive") / "renamed.mp4"
    (logged.parent / video.name).rename(moved)
    done = publish(logged, recording=moved)
    assert "stills.json" in names(done.folder)
    assert '/renamed.mp4"' in done.page.read_text("utf-8")
    assert verify(done.folder) == []
    moved.write_bytes(b"another")
    assert verify(done.folder) != []
    with pytest.raises(ReviewError, match="is not the recording"):
        publish(logged, recording=moved)


def test_captions_alone_have_no_recording(logged: Path) -> None:
    record = read_record(logged)
    record.source.has_recording = record.source.has_video = False
    record.source.transcript_origin = "webvtt"
    write_record(record, logged)
    done = publish(logged)
    assert "<video" not in done.page.read_text("utf-8")
    assert len(done.notices) == 1
    with pytest.raises(PublishError, match="captions alone"):
        publish(logged, recording=logged)


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"lead_in_s": -1.0}, "lead-in"),
        ({"lead_in_s": float("nan")}, "lead-in"),
        ({"video_url": "javascript:alert(1)"}, "not a web address"),
        ({"link_pattern": "https://host.example/v"}, "link pattern"),
        ({"templates": Path("no-such-folder")}, "no folder of templates"),
    ],
)
def test_wrong_options_are_refused_and_nothing_is_written(
    logged: Path, options: dict[str, Any], message: str
) -> None:
    with pytest.raises(PublishError, match=message):
        publish(logged, **options)
    assert not (logged.parent / "published").exists()


def test_another_recording_is_refused(logged: Path, video: Path) -> None:
    (logged.parent / video.name).write_bytes(b"another")
    with pytest.raises(PublishError, match="is not the recording that was logged"):
        publish(logged)


def test_a_folder_with_other_things_is_refused(logged: Path) -> None:
    (logged.parent / "published").mkdir()
    (logged.parent / "published" / "notes.txt").write_text("mine")
    with pytest.raises(PublishError, match="holds other things"):
        publish(logged)


def test_only_files_inside_the_folder_are_ever_removed(logged: Path) -> None:
    folder = publish(logged).folder
    manifest = folder / "manifest.json"
    data = json.loads(manifest.read_text())
    data["files"].append({"path": "../findings.json", "sha256": "0" * 64})
    manifest.write_text(json.dumps(data))
    publish(logged)
    assert logged.exists()


def test_a_shops_templates_are_used(logged: Path, tmp_path: Path) -> None:
    templates = tmp_path / "templates"
    templates.mkdir()
    (templates / "listing_short.txt.j2").write_text("Ours: {{ h.flaws | length }}")
    done = publish(logged, templates=templates)
    assert (done.folder / "listing-short.txt").read_text() == "Ours: 6"
