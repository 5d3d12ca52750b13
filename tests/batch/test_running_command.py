"""The command `batch`, on real speech with real processes, and what it refuses."""

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from pipeline.cli import main
from pipeline.record import read_record
from tests.conftest import ROOT


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["batch", *(str(argument) for argument in arguments)])


def test_a_folder_is_heard_and_then_skipped(tmp_path: Path) -> None:
    shutil.copy(ROOT / "tests" / "listen" / "data" / "phrases.opus", tmp_path)
    (tmp_path / "text.mp4").write_text("This is no film.")
    out = tmp_path / "out"
    first = run(tmp_path, "--out", out, "--jobs", "1")
    assert first.exit_code == 1
    assert "Traceback" not in first.output
    for part in ("phrases.opus", "is not a recording", "1 done, 1 failed", "left"):
        assert part in first.output
    record = read_record(out / "phrases.walkaround")
    assert record.lines

    (tmp_path / "text.mp4").unlink()
    again = run(tmp_path, "--out", out, "--jobs", "1", "--json")
    assert again.exit_code == 0
    report = json.loads(again.stdout)
    assert report["counts"] == {"skipped": 1}
    assert report == json.loads((out / "report.json").read_text())


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["missing"], "missing: there is no such folder or list"),
        (["."], "there is no recording"),
        ([".", "--scheduler", "tcp://127.0.0.1:9", "--jobs", "2"], "--scheduler"),
        (["list.txt", "--jobs", "2", "--memory", "0.5"], "--memory 0.5 is too little for 2"),
        (["list.txt", "--lexicon", "gone.toml"], "gone.toml"),
        (["list.txt", "--report", "list.txt"], "is no report of a batch"),
        (["list.txt", "--report", "list.txt/report.json"], "cannot be written"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_what_is_refused_gets_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: list[str], said: str
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "list.txt").write_text("a.mp4\n")
    result = run(*arguments)
    assert result.exit_code != 0
    assert isinstance(result.exception, SystemExit)
    assert any(said in line for line in result.output.splitlines()), result.output
    assert (tmp_path / "list.txt").read_text() == "a.mp4\n"
    assert not (tmp_path / "report.json").exists()


def test_help_ends_with_an_example() -> None:
    assert "wearword batch recordings/" in run("--help").output
