"""The README's commands do what it says; CI runs the installing ones literally, in a clean place."""

import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

from tests.conftest import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```sh\n(.*?)```", README, flags=re.DOTALL)


def wearword(command: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """Runs one `wearword ...` line of the README in a folder, with this Python."""
    arguments = shlex.split(command)
    assert arguments[0] == "wearword"
    return subprocess.run(
        [sys.executable, "-m", "pipeline.cli", *arguments[1:]],
        cwd=folder, env={"PYTHONPATH": str(ROOT), "PATH": "/usr/bin:/bin", "HOME": str(folder)},
        capture_output=True, text=True, check=False,
    )  # fmt: skip


def test_the_two_commands_stand_first() -> None:
    assert BLOCKS[0].startswith("python -m pip install . && wearword log samples/")
    assert BLOCKS[1].startswith("python -m pip install '.[test]' && python -m pytest")


def test_each_persons_command_runs_on_a_sample(tmp_path: Path) -> None:
    samples = tmp_path / "samples"
    samples.mkdir()
    shutil.copy(ROOT / "samples" / "pellam.mp4", samples)
    shutil.copy(ROOT / "samples" / "pellam.mp4", tmp_path / "walkaround.mp4")
    first = wearword(BLOCKS[0].split("&&")[1].strip(), tmp_path)
    assert first.returncode == 0, first.stderr
    assert (samples / "pellam.walkaround" / "findings.json").exists()
    (samples / "pellam.walkaround").rename(tmp_path / "walkaround.walkaround")
    (tmp_path / "recordings").mkdir()
    shutil.copy(ROOT / "samples" / "calder.m4a", tmp_path / "recordings")
    commands = [line for block in BLOCKS[2:] for line in block.splitlines()]
    assert commands[0] == "wearword log walkaround.mp4"
    for command in commands[1:]:
        done = wearword(command, tmp_path)
        assert done.returncode == 0, (command, done.stderr)
    assert (tmp_path / "walkaround.walkaround" / "published" / "page.html").exists()
    assert (tmp_path / "ledger.duckdb").exists()


def test_commands_named_in_passing_exist() -> None:
    for command in re.findall(r"`(wearword [^`]*)`", README):
        name = {"try": "try_"}.get(shlex.split(command)[1], shlex.split(command)[1])
        assert f"def {name}" in (ROOT / "pipeline" / "cli.py").read_text(encoding="utf-8")
