"""Nothing leaves the machine: every command runs where nothing can be reached."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]

# Loaded by every Python before the program: whoever sends or connects or looks up a name, fails.
FORBIDDEN = """
import socket, sys

def nowhere(*args, **kwargs):
    print("SOCKET", file=sys.stderr, flush=True)
    raise OSError("nothing can be reached from here")

class Shut(socket.socket):
    connect = connect_ex = sendto = sendmsg = listen = nowhere

socket.socket = Shut
socket.getaddrinfo = socket.gethostbyname = socket.create_connection = nowhere
"""


@pytest.fixture(scope="module")
def workplace(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("offline")
    (folder / "sitecustomize.py").write_text(FORBIDDEN)
    for name in ("pellam.vtt", "pellam.mp4"):
        shutil.copy(ROOT / "samples" / name, folder)
    return folder


def wearword(folder: Path, *arguments: str, typed: str = "") -> subprocess.CompletedProcess[str]:
    search = os.pathsep.join([str(folder), str(ROOT)])
    return subprocess.run(
        [*_without_network(), sys.executable, "-m", "pipeline.cli", *arguments],
        input=typed,
        capture_output=True,
        text=True,
        check=False,
        cwd=folder,
        env={**os.environ, "PYTHONPATH": search, "HOME": str(folder), "XDG_DATA_HOME": str(folder)},
    )


def _without_network() -> list[str]:
    """A namespace without any interface, where the system lets a user make one."""
    command = ["unshare", "--map-root-user", "--net"]
    unshare = shutil.which("unshare")
    if unshare is None:
        return []
    return command if subprocess.run([*command, "true"], check=False).returncode == 0 else []


def test_what_is_forbidden_here_is_told(workplace: Path) -> None:
    tried = subprocess.run(
        [sys.executable, "-c", "import socket; socket.socket().connect(('127.0.0.1', 9))"],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONPATH": str(workplace)},
    )
    assert tried.returncode != 0
    assert "SOCKET" in tried.stderr


COMMANDS = [
    (["log", "--transcript", "pellam.vtt", "pellam.mp4"], ""),
    (["review", "pellam.walkaround", "--plain"], "y\nq\n"),
    (["publish", "pellam.walkaround", "--include-unconfirmed"], ""),
    (["verify", "pellam.walkaround/published"], ""),
    (["ledger", ".", "--out", "ledger.duckdb"], ""),
]


def test_every_command_without_a_network(workplace: Path) -> None:
    """One after another, as each needs what the one before made."""
    for arguments, typed in COMMANDS:
        done = wearword(workplace, *arguments, typed=typed)
        assert done.returncode == 0, (arguments, done.stdout, done.stderr)
        assert "SOCKET" not in done.stderr, arguments
    assert (workplace / "pellam.walkaround" / "published" / "page.html").exists()


def test_hearing_without_a_network(workplace: Path, few_words: Path) -> None:
    done = wearword(workplace, "log", str(few_words), "--out", "heard", "--json")
    assert done.returncode == 0, done.stderr
    assert "SOCKET" not in done.stderr
    assert '"speech_model"' in done.stdout
