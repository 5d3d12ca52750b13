"""Bad input gets one clear line, a non-zero exit and no half-written file."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from pipeline.cli import _GLANCES, main
from pipeline.models import Record
from pipeline.weigh.flags import GLANCE_COST
from tests.conftest import SAMPLES


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def assert_one_line(result: Result, *parts: str) -> None:
    assert result.exit_code != 0
    assert result.exception is None or isinstance(result.exception, SystemExit)
    lines = [line for line in result.output.splitlines() if line.strip()]
    assert "Traceback" not in result.output
    assert any(all(part in line for part in parts) for line in lines), result.output
    assert len(lines) <= 4, result.output  # a usage error adds click's usage lines


@pytest.fixture
def inputs(tmp_path: Path) -> Path:
    (tmp_path / "folder.mp4").mkdir()
    (tmp_path / "empty.mp4").touch()
    (tmp_path / "text.mp4").write_text("This is no film.\n" * 200)
    whole = (SAMPLES / "pellam.mp4").read_bytes()
    (tmp_path / "short.mp4").write_bytes(whole[:2000])
    (tmp_path / "bad.vtt").write_text("WEBVTT\n\n00:01.000 -> 00:02.000\nHello\n")
    (tmp_path / "order.txt").write_text("[0:10] The tank is dented.\n[0:05] The seat is torn.\n")
    (tmp_path / "latin.srt").write_bytes(b"1\n00:00:01,000 --> 00:00:02,000\ncaf\xe9\n")
    (tmp_path / "typo.toml").write_text('[part_phrases]\nfuel_tnak = ["petrol bin"]\n')
    return tmp_path


@pytest.mark.parametrize(
    ("arguments", "parts"),
    [
        (["log", "missing.mp4"], ["missing.mp4"]),
        (["log", "folder.mp4"], ["folder.mp4", "folder"]),
        (["log", "empty.mp4"], ["empty.mp4", "empty"]),
        (["log", "text.mp4"], ["text.mp4"]),
        (["log", "short.mp4"], ["short.mp4"]),
        (["log"], ["RECORDING"]),
        (["log", "--transcript", "bad.vtt"], ["bad.vtt"]),
        (["log", "--transcript", "order.txt"], ["order.txt", "2"]),
        (["log", "--transcript", "latin.srt"], ["latin.srt"]),
        (["log", "--transcript", "missing.vtt"], ["missing.vtt"]),
        (["log", "--transcript", "missing.vtt", "--adapter", "none"], ["--transcript"]),
        (["log", "--transcript", "missing.vtt", "--second-model", "large"], ["--transcript"]),
        (["log", "--kind", "hovercraft", "text.mp4"], ["hovercraft"]),
        (["try", "a dent", "--lexicon", "typo.toml"], ["typo.toml", "fuel_tnak"]),
        (["review", "missing"], ["missing"]),
        (["publish", "missing"], ["missing"]),
        (["verify", "missing"], ["missing"]),
        (["score", "missing.json", "missing"], ["missing"]),
        (["lexicon", "check", "typo.toml"], ["typo.toml", "fuel_tnak"]),
    ],
    ids=" ".join,
)
def test_bad_input(
    inputs: Path, monkeypatch: pytest.MonkeyPatch, arguments: list[str], parts: list[str]
) -> None:
    monkeypatch.chdir(inputs)
    before = sorted(inputs.rglob("*"))
    assert_one_line(run(*arguments), *parts)
    assert sorted(inputs.rglob("*")) == before


def test_a_missing_speech_model_gets_one_line(tmp_path: Path) -> None:
    assert_one_line(run("log", SAMPLES / "pellam.mp4", "--out", tmp_path / "o",
                        "--speech-model", "./nowhere"), "nowhere")  # fmt: skip
    assert not (tmp_path / "o").exists()


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="needs a folder nobody can write to")
def test_a_folder_that_is_not_writable() -> None:
    result = run("log", "--transcript", SAMPLES / "pellam.vtt", "--out", "/proc/self/out")
    assert_one_line(result, "/proc/self/out", "--out")


def test_an_output_that_is_a_file_gets_one_line(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("mine")
    result = run("log", "--transcript", SAMPLES / "pellam.vtt", "--out", tmp_path / "out")
    assert_one_line(result, "out", "--out")
    assert (tmp_path / "out").read_text() == "mine"


def test_a_full_disk_leaves_the_old_findings(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    assert run("log", "--transcript", SAMPLES / "pellam.vtt", "--out", out).exit_code == 0
    before = (out / "findings.json").read_bytes()

    def full(_file: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    result = run("log", "--transcript", SAMPLES / "pellam.vtt", "--out", out)
    assert_one_line(result, "No space left")
    assert (out / "findings.json").read_bytes() == before
    assert sorted(path.name for path in out.iterdir()) == ["findings.json", "transcript.vtt"]


def test_json_is_for_programs(tmp_path: Path) -> None:
    result = run("log", "--transcript", SAMPLES / "pellam.vtt", "--out", tmp_path / "o", "--json")
    assert result.exit_code == 0
    assert Record.model_validate(json.loads(result.output)).findings


def test_no_colour_and_no_bars_where_the_output_is_no_terminal(tmp_path: Path) -> None:
    result = run("log", "--transcript", SAMPLES / "pellam.vtt", "--out", tmp_path / "o")
    assert result.exit_code == 0
    assert "\x1b" not in result.output
    assert "Next: wearword" in result.output


def test_try_explains_what_misheard_words_are_read_as() -> None:
    result = run("try", "the front vendor has a dent")
    assert '"vendor" sounds like "fender"' in result.output
    data = json.loads(run("try", "the front vendor has a dent", "--json").output)
    assert [s["place"]["part"] for s in data["statements"]] == ["fender"]
    assert any(repair["taken"] for repair in data["repairs"])


@pytest.mark.parametrize(("recording", "offered"), [([], False), ([SAMPLES / "pellam.mp4"], True)])
def test_only_what_can_be_heard_is_offered(
    tmp_path: Path, recording: list[Path], offered: bool
) -> None:
    unsure = tmp_path / "unsure.vtt"
    unsure.write_text(
        "WEBVTT\n\n00:01.000 --> 00:04.000\nThere might be a crack in the fender.\n", "utf-8"
    )
    logged = run("log", "--transcript", unsure, *recording, "--out", tmp_path / "o")
    assert logged.exit_code == 0
    arguments = ["review", str(tmp_path / "o"), "--plain"]
    shown = CliRunner().invoke(main, arguments, input="?\nq\n").output
    assert ("hear it slowly" in shown) is offered
    assert ("view it" in shown) is offered


def test_words_added_in_a_review_are_read_by_the_next_command(tmp_path: Path) -> None:
    run("log", "--transcript", SAMPLES / "pellam.vtt", "--out", tmp_path / "o")
    decisions = tmp_path / "decisions.jsonl"
    decisions.write_text('{"kind": "explain", "phrase": "hickey", "names": "scuff"}\n')
    made = run("review", tmp_path / "o", "--decisions", decisions)
    assert made.output == "1 decisions made.\n"
    assert "scuff" in run("try", "a hickey on the tank").output
    assert "states no flaw" in run("try", "a hickey on the tank", "--lexicon", "none").output
    decisions.write_text('{"kind": "explain", "phrase": "hug mark", "names": "scuff"}\n')
    result = run("review", tmp_path / "o", "--decisions", decisions, "--lexicon", "none")
    assert_one_line(result, "'hug mark' cannot be kept: --lexicon none leaves no file for it")


def test_try_explains() -> None:
    result = run("try", "light pitting on the left fork, two inches")
    assert result.exit_code == 0
    for part in ("fork", "left", "pitting", "2", "50.8 mm"):
        assert part in result.output


@pytest.mark.parametrize(
    "command",
    [
        [],
        ["log"],
        ["try"],
        ["review"],
        ["publish"],
        ["verify"],
        ["score"],
        ["lexicon", "check"],
        ["lexicon", "words"],
    ],
    ids=lambda command: " ".join(command) or "wearword",
)
def test_every_help_ends_with_an_example(command: list[str]) -> None:
    result = run(*command, "--help")
    assert result.exit_code == 0
    assert "wearword " in result.output


def test_help_loads_neither_recogniser_nor_spacy() -> None:
    code = (
        "import sys\nfrom pipeline.cli import main\n"
        "try:\n main(['--help'])\nexcept SystemExit:\n pass\n"
        "print(sorted({m.split('.')[0] for m in sys.modules} & "
        "{'faster_whisper', 'ctranslate2', 'spacy', 'av', 'onnxruntime', 'numpy'}))"
    )
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert shown.stdout.splitlines()[-1] == "[]"


def test_the_dearer_an_error_the_more_is_flagged(tmp_path: Path) -> None:
    captions = tmp_path / "pellam.vtt"
    captions.write_bytes((SAMPLES / "pellam.vtt").read_bytes())
    flagged = []
    for glances in ("1", "1000"):
        result = run("log", "--transcript", captions, "--glances", glances, "--json")
        record = json.loads(result.stdout)
        assert record["settings"]["thresholds"] == {"glance_cost": 1 / float(glances)}
        flagged.append(sum(finding["status"] == "flagged" for finding in record["findings"]))
    assert flagged[0] < flagged[1]
    assert_one_line(run("log", "--transcript", captions, "--glances", "0.5"), "--glances")


def test_an_error_is_worth_as_much_on_the_command_line_as_elsewhere() -> None:
    assert 1 / _GLANCES == GLANCE_COST
