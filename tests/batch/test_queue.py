"""pipeline/batch/queue.py: which recordings, and where the findings of each belong."""

from pathlib import Path

import pytest

from pipeline.batch.queue import Queued, file_name, is_url, read_queue, told_apart
from pipeline.errors import BatchError


def touched(folder: Path, *names: str) -> None:
    for name in names:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).touch()


def folders(queue: list[Queued], root: Path) -> dict[str, str]:
    return {
        Path(q.address).relative_to(root).as_posix(): q.folder.relative_to(root).as_posix()
        for q in queue
    }


def test_a_folder_gives_its_recordings_in_order(tmp_path: Path) -> None:
    touched(tmp_path, "b.MP4", "ana/a.mov", "notes.txt", ".b.mp4", ".trash/c.mp4",
            "b.walkaround/clips/clip.wav", "b.walkaround-2/clips/clip.wav")  # fmt: skip
    assert folders(read_queue(tmp_path), tmp_path) == {
        "ana/a.mov": "ana/a.walkaround",
        "b.MP4": "b.walkaround",
    }


def test_out_gets_the_same_subfolders(tmp_path: Path) -> None:
    touched(tmp_path, "in/b.mp4", "in/ana/a.mov")
    queue = read_queue(tmp_path / "in", tmp_path / "out")
    assert folders(queue, tmp_path) == {
        "in/ana/a.mov": "out/ana/a.walkaround",
        "in/b.mp4": "out/b.walkaround",
    }


def test_two_of_one_stem_get_folders_of_their_own(tmp_path: Path) -> None:
    touched(tmp_path, "a.m4a", "a.mp4")
    first, second = read_queue(tmp_path)
    assert first.folder != second.folder
    assert first.folder == told_apart(tmp_path / "a.walkaround", first.address)
    assert read_queue(tmp_path) == [first, second]


def test_a_list_names_paths_and_urls(tmp_path: Path) -> None:
    today = tmp_path / "lists" / "today.txt"
    today.parent.mkdir()
    today.write_text("# today\n\nana/a.mov\n/else/b.mp4\nana/a.mov\ns3://yard/ben/c.mp4\n")
    queue = read_queue(today, tmp_path / "out")
    assert [(q.address, q.folder.relative_to(tmp_path / "out").as_posix()) for q in queue] == [
        (str(tmp_path / "lists/ana/a.mov"), "ana/a.walkaround"),
        ("/else/b.mp4", "else/b.walkaround"),
        ("s3://yard/ben/c.mp4", "ben/c.walkaround"),
    ]


def test_a_listed_path_keeps_its_findings_beside_it(tmp_path: Path) -> None:
    (tmp_path / "today.txt").write_text("ana/a.mov")
    assert read_queue(tmp_path / "today.txt") == [
        Queued(str(tmp_path / "ana/a.mov"), tmp_path / "ana/a.walkaround")
    ]


@pytest.mark.parametrize("url", ["https://example.org/../a.mp4", "https://example.org/a.mp4?key=1"])
def test_no_url_leads_out_of_out(tmp_path: Path, url: str) -> None:
    (tmp_path / "today.txt").write_text(url)
    (queued,) = read_queue(tmp_path / "today.txt", tmp_path / "out")
    assert queued.folder == tmp_path / "out" / "a.walkaround"
    assert is_url(queued.address)
    assert file_name(queued.address) == "a.mp4"


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("missing", None, "no such folder or list"),
        ("empty.txt", b"# nothing\n", "no recording"),
        ("clip.mp4", b"", "is a recording"),
        ("binary.txt", b"\xff\xfe\x00", "one path or URL a line"),
        ("url.txt", b"https://example.org/a.mp4\n", "--out"),
    ],
)
def test_what_gives_no_queue(tmp_path: Path, name: str, content: bytes | None, said: str) -> None:
    if content is not None:
        (tmp_path / name).write_bytes(content)
    with pytest.raises(BatchError, match=said):
        read_queue(tmp_path / name)


def test_a_folder_without_recordings(tmp_path: Path) -> None:
    with pytest.raises(BatchError, match="no recording"):
        read_queue(tmp_path)
