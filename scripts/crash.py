"""Stops the program at each of its file calls, in every way that a day in a shop has in store.

    python scripts/crash.py                    killed at every file call and at 30 moments
    python scripts/crash.py review ledger --by system-call
    python scripts/crash.py --by full          the disk full behind 0, 64, 128 ... bytes
    python scripts/crash.py --by gone          the folder moved away under its feet
    python scripts/crash.py --by denied        the folder can only be read from then on
    python scripts/crash.py --by hear          killed while a real recording is heard

Each try starts from the same folder, in a child process. Afterwards every file must be the old one
or the new one, whatever was acknowledged must be there, and the same command, run again, must come
to the same end as if nothing had happened. Exit status 1 where a try finds otherwise.
"""

import argparse
import json
import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache, partial
from itertools import count, product
from pathlib import Path
from typing import Any

import duckdb
from rich.console import Console
from rich.table import Table

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from pipeline.errors import WearwordError  # noqa: E402
from pipeline.ledger.database import add_folders, findings_folders, open_ledger  # noqa: E402
from pipeline.models import Record  # noqa: E402
from pipeline.publish.folder import publish  # noqa: E402
from pipeline.publish.provenance import verify  # noqa: E402
from pipeline.record import read_record  # noqa: E402
from pipeline.review.decisions import Accept, Decision, Strike  # noqa: E402
from pipeline.review.journal import read_journal  # noqa: E402
from pipeline.review.sitting import current_record, open_sitting  # noqa: E402
from pipeline.review.wordbook import Wordbook  # noqa: E402
from pipeline.walkaround import Options, log_transcript, save  # noqa: E402
from tests.batch.fakes import recording  # noqa: E402
from tests.batch.fakes import run as run_batch  # noqa: E402

# What Python tells before it touches a file: https://docs.python.org/3/library/audit_events.html
_CALLS = frozenset(("open", "os.rename", "os.remove", "os.mkdir", "os.truncate", "os.chmod",
                    "os.rmdir", "os.link"))  # fmt: skip
# What changes a disk, as the system sees it; libraries that write by themselves do not tell Python.
_SYSTEM_CALLS = ("openat", "write", "pwrite64", "fsync", "fdatasync", "ftruncate", "rename",
                 "unlink", "mkdir", "chmod")  # fmt: skip
_NOON = datetime(2031, 5, 4, 12, 0, tzinfo=UTC)
_LIMITS = [*range(0, 1024, 64), *range(1024, 16_384, 1024)]
# A database writes over what it has, which a limit of size does not hinder as a full disk does.
_IN_PLACE = frozenset({"ledger"})
_NOBODY = 65534

Acknowledge = Callable[[str], None]


@dataclass(frozen=True)
class Scenario:
    """A command on a folder: what is there before, what it does, and what must hold after.

    `state` gives whatever two runs must agree in; it reads every file, so that a torn one raises.
    `holds` checks what was acknowledged before a kill, and that nothing torn is left.
    """

    prepare: Callable[[Path], None]
    act: Callable[[Path, Acknowledge], object]
    state: Callable[[Path], object]
    holds: Callable[[Path, list[str]], bool] = lambda *_: True


@dataclass
class Tally:
    """How often a command was tried and how often killed, and what went wrong, if anything."""

    tries: int = 0
    kills: int = 0
    faults: tuple[str, ...] = ()


# --- scenarios ----------------------------------------------------------------------------------


@lru_cache
def _record() -> Record:
    return log_transcript(ROOT / "samples" / "pellam.vtt", None, Options("motorcycle")).record


def _logged(folder: Path) -> None:
    save(_record(), folder / "walk")


def _log_again(folder: Path, _acknowledge: Acknowledge) -> None:
    changed = _record().model_copy(update={"unmentioned": ["battery"]})
    save(changed, folder / "walk")


def _log_state(folder: Path) -> object:
    text = (folder / "walk" / "transcript.vtt").read_text(encoding="utf-8")
    return read_record(folder / "walk").to_json(), text


def _decisions() -> list[Decision]:
    targets = [finding.id for finding in _record().findings]
    return [(Strike if n % 3 else Accept)(target=target) for n, target in enumerate(targets)]


def _review(folder: Path, acknowledge: Acknowledge) -> None:
    with open_sitting(folder / "walk", who="Ann", words=Wordbook(), now=lambda: _NOON) as sitting:
        for decision in _decisions()[len(sitting.journal.entries) :]:
            (entry,) = sitting.decide(decision)
            acknowledge(str(entry.number))


def _review_state(folder: Path) -> object:
    entries = read_journal(folder / "walk" / "journal.jsonl").entries
    return read_record(folder / "walk").to_json(), [entry.model_dump_json() for entry in entries]


def _review_holds(folder: Path, acknowledged: list[str]) -> bool:
    entries = read_journal(folder / "walk" / "journal.jsonl").entries
    settled = {f.id for f in current_record(folder / "walk").findings if f.status != "flagged"}
    kept = {str(entry.number) for entry in entries}
    return set(acknowledged) <= kept and {e.decision.target for e in entries} <= settled  # type: ignore[union-attr]


def _published(folder: Path) -> None:
    _logged(folder)
    publish(folder / "walk", include_unconfirmed=True, units="mm")


def _publish_again(folder: Path, _acknowledge: Acknowledge) -> None:
    publish(folder / "walk", include_unconfirmed=False)


def _publish_state(folder: Path) -> object:
    published = folder / "walk" / "published"
    return verify(published), {path.name: path.read_bytes() for path in _shown(published)}


def _publish_holds(folder: Path, _acknowledged: list[str]) -> bool:
    """Each file is one of the two publications', whole."""
    old, new = _publications()
    return all(
        path.read_bytes() in (old.get(path.name), new.get(path.name))
        for path in _shown(folder / "walk" / "published")
    )


def _shown(folder: Path) -> list[Path]:
    return sorted(path for path in folder.iterdir() if not path.name.startswith("."))


@lru_cache
def _publications() -> tuple[dict[str, bytes], dict[str, bytes]]:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        _published(folder)
        old = {p.name: p.read_bytes() for p in (folder / "walk" / "published").iterdir()}
        _publish_again(folder, lambda _: None)
        return old, {p.name: p.read_bytes() for p in (folder / "walk" / "published").iterdir()}


def _recordings(folder: Path) -> None:
    for number in range(4):
        recording(folder / f"r{number}.wav", number + 1)


def _batch_state(folder: Path) -> object:
    report = json.loads((folder / "report.json").read_text(encoding="utf-8"))
    records = {f: read_record(f).to_json() for f in sorted(folder.glob("*.walkaround"))}
    done = [(e["recording"].rpartition("/")[2], e["error"]) for e in report["recordings"]]
    return done, {f.name: record for f, record in records.items()}


def _batch_holds(folder: Path, _acknowledged: list[str]) -> bool:
    report = folder / "report.json"
    if report.exists():
        json.loads(report.read_text(encoding="utf-8"))
    return all(read_record(path.parent) for path in folder.glob("*/findings.json"))


def _walks(folder: Path) -> None:
    for number in range(3):
        source = _record().source.model_copy(update={"sha256": f"{number:064}"})
        save(_record().model_copy(update={"source": source}), folder / f"w{number}.walkaround")
    with open_ledger(folder / "ledger.duckdb") as book:
        add_folders(book, findings_folders([folder])[:1])


def _ledger(folder: Path, _acknowledge: Acknowledge) -> None:
    with open_ledger(folder / "ledger.duckdb") as book:
        add_folders(book, findings_folders([folder]))


def _ledger_state(folder: Path) -> object:
    with duckdb.connect(str(folder / "ledger.duckdb")) as book:
        tables = book.execute("SELECT table_name FROM duckdb_tables() ORDER BY 1").fetchall()
        return {
            name: book.execute(f'SELECT count(*) FROM "{name}"').fetchall() for (name,) in tables
        }


SCENARIOS = {
    "log": Scenario(_logged, _log_again, _log_state),
    "review": Scenario(_logged, _review, _review_state, _review_holds),
    "publish": Scenario(_published, _publish_again, _publish_state, _publish_holds),
    "batch": Scenario(_recordings, lambda folder, _: run_batch(folder), _batch_state, _batch_holds),
    "ledger": Scenario(_walks, _ledger, _ledger_state),
}


# --- one try ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Ended:
    """How a child ended: its exit status (negative: the signal), and what it acknowledged.

    `said` is the error of ours that it ended with, or the name of any other kind of error.
    """

    status: int
    acknowledged: list[str]
    said: str


def in_child(
    scenario: Scenario,
    folder: Path,
    before: Callable[[Path], None],
    killed_after_s: float | None = None,
) -> Ended:
    """Runs a command in a child that `before` has made ready to die, or kills it after a while."""
    ours, theirs = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(ours)
        os._exit(_child(scenario, folder, before, theirs))
    os.close(theirs)
    if killed_after_s is not None:
        time.sleep(killed_after_s)
        os.kill(child, signal.SIGKILL)
    with os.fdopen(ours, encoding="utf-8") as told:
        *acknowledged, rest = told.read().split("\n")
    _, status = os.waitpid(child, 0)
    return Ended(os.waitstatus_to_exitcode(status), acknowledged, rest)


def _child(scenario: Scenario, folder: Path, before: Callable[[Path], None], told: int) -> int:
    for stream in (1, 2):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream)
    before(folder)
    try:
        scenario.act(folder, lambda text: _say(told, f"{text}\n"))
    except WearwordError as error:
        _say(told, str(error))
        return 1
    except BaseException as error:  # what must never reach a user
        _say(told, f"{type(error).__name__}: {error}")
        return 2
    return 0


def _say(told: int, text: str) -> None:
    os.write(told, text.encode("utf-8", "replace"))


def at_call(call: int, happens: Callable[[Path], object]) -> Callable[[Path], None]:
    """Makes a process ready for something to happen right before its file call of that number."""

    def ready(folder: Path) -> None:
        seen, place = -1, str(folder)

        def audit(event: str, arguments: tuple[Any, ...]) -> None:
            nonlocal seen
            if event in _CALLS and str(arguments[0]).startswith(place):
                seen += 1
                if seen == call:
                    happens(folder)

        sys.addaudithook(audit)

    return ready


def at_system_call(
    name: str, number: int, fault: str = "signal=SIGKILL:when={}", files: tuple[str, ...] = ()
) -> Callable[[Path], None]:
    """Makes a process ready for a fault at its system call of that name and number, from 1.

    `fault` is strace's: it kills, or "error=ENOSPC:when={}+" lets all calls fail from there on.
    With `files` of the folder, only calls that are about them count.
    """

    def ready(folder: Path) -> None:
        traced = [f"trace={name}", "-e", f"inject={name}:{fault.format(number)}"]
        command = ["strace", "-f", "-o", os.devnull, "-p", str(os.getpid()), "-e", *traced]
        command += [part for file in files for part in ("-P", str(folder / file))]
        tracer = subprocess.Popen(command, stderr=subprocess.PIPE)
        assert tracer.stderr is not None
        tracer.stderr.readline()  # "attached"

    return ready


def _killed(_folder: Path) -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def gone(folder: Path) -> None:
    """The folder is moved away."""
    folder.rename(folder.with_suffix(".gone"))


def denied(folder: Path) -> None:
    """The folder may only be read from now on (by root too, who becomes somebody else)."""
    if os.geteuid() == 0:
        os.seteuid(_NOBODY)
    else:
        folder.chmod(0o500)


def with_room_for(size: int) -> Callable[[Path], None]:
    """Makes a process ready to fail with "File too large" behind so many bytes of any file."""

    def ready(_folder: Path) -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))

    return ready


# --- many tries ---------------------------------------------------------------------------------


def killed(name: str, moments: int, seed: int = 0) -> Tally:
    """Kills a command at each of its file calls, and at random moments."""
    tally = Tally()
    wanted, took_s, calls = _undisturbed(SCENARIOS[name])
    for call in range(calls):
        _try(name, tally, wanted, at_call(call, _killed))
    chance = random.Random(seed)
    for _ in range(moments):
        _try(name, tally, wanted, lambda _: None, chance.uniform(0, took_s))
    return tally


def killed_by_system_call(name: str) -> Tally:
    """Kills a command right before each of its system calls that change a disk; needs strace."""
    tally = Tally()
    wanted, _, _ = _undisturbed(SCENARIOS[name])
    for call in _SYSTEM_CALLS:
        for number in count(1):
            if _try(name, tally, wanted, at_system_call(call, number)).status == 0:
                break
    return tally


def hindered(name: str, happens: Callable[[Path], object]) -> Tally:
    """Lets something happen to the folder at each of a command's file calls."""
    tally = Tally()
    wanted, _, calls = _undisturbed(SCENARIOS[name])
    for call in range(calls):
        _try(name, tally, wanted, at_call(call, happens))
    return tally


def full_disk(name: str) -> Tally:
    """Lets every file of a command end behind some bytes, as on a disk that is full.

    A database's writes fail from some one on instead; that needs strace.
    """
    tally = Tally()
    wanted, _, _ = _undisturbed(SCENARIOS[name])
    if name in _IN_PLACE:
        book = ("ledger.duckdb", "ledger.duckdb.wal")
        for call, number in product(("write", "pwrite64", "fdatasync"), range(1, 9)):
            fault = at_system_call(call, number, "error=ENOSPC:when={}+", book)
            _try(name, tally, wanted, fault)
        return tally
    for size in _LIMITS:
        _try(name, tally, wanted, with_room_for(size))
    return tally


def killed_while_hearing(moments: int, seed: int = 0) -> Tally:
    """Kills the program itself while it logs a real recording, and lets it end afterwards."""
    tally = Tally()
    chance = random.Random(seed)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        recording = shutil.copy(ROOT / "tests" / "listen" / "data" / "phrases.opus", folder)
        findings = folder / "phrases.walkaround" / "findings.json"
        command = [sys.executable, "-m", "pipeline.cli", "log", recording]
        began = time.monotonic()
        subprocess.run(command, cwd=ROOT, check=True, capture_output=True)
        took_s = time.monotonic() - began
        whole = findings.read_bytes()
        for moment in range(moments):
            if moment % 2:  # every other time there are none yet
                shutil.rmtree(findings.parent)
            child = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL)
            with suppress(subprocess.TimeoutExpired):
                child.wait(chance.uniform(0, took_s))
            child.kill()
            tally.tries += 1
            tally.kills += child.wait() == -signal.SIGKILL
            if findings.exists() and findings.read_bytes() != whole:
                tally.faults += (f"hear, try {tally.tries}: the findings are torn",)
            again = subprocess.run(command, cwd=ROOT, check=False, capture_output=True)
            if again.returncode or findings.read_bytes() != whole:
                tally.faults += (f"hear, try {tally.tries}: came to another end",)
    return tally


def _undisturbed(scenario: Scenario) -> tuple[object, float, int]:
    """The state that a command leads to, how long it takes, and how many file calls it makes."""
    with _prepared(scenario) as folder, tempfile.TemporaryFile() as marks:

        def mark(_folder: Path) -> None:
            sys.addaudithook(
                lambda event, arguments: (
                    event in _CALLS
                    and str(arguments[0]).startswith(str(folder))
                    and os.write(marks.fileno(), b".")
                )
            )

        began = time.monotonic()
        ended = in_child(scenario, folder, mark)
        took_s = time.monotonic() - began
        assert ended.status == 0, ended.said
        return scenario.state(folder), took_s, os.fstat(marks.fileno()).st_size


@contextmanager
def _prepared(scenario: Scenario) -> Iterator[Path]:
    """A folder made ready for a scenario; always of the same name, for that is in the files."""
    folder = Path(tempfile.gettempdir()) / f"wearword-crash-{os.getpid()}"
    folder.mkdir()
    try:
        scenario.prepare(folder)
        yield folder
    finally:
        shutil.rmtree(folder)


def _brought_back(folder: Path) -> None:
    """What a hindrance did to the folder is undone."""
    gone = folder.with_suffix(".gone")
    if gone.exists():
        shutil.rmtree(folder, ignore_errors=True)
        gone.rename(folder)
    folder.chmod(0o700)


def _try(
    name: str,
    tally: Tally,
    wanted: object,
    before: Callable[[Path], None],
    killed_after_s: float | None = None,
) -> Ended:
    scenario = SCENARIOS[name]
    with _prepared(scenario) as folder:
        ended = in_child(scenario, folder, before, killed_after_s)
        _brought_back(folder)
        tally.tries += 1
        tally.kills += ended.status == -signal.SIGKILL
        faults = _faults(scenario, folder, ended, wanted)
        tally.faults += tuple(f"{name}, try {tally.tries}: {fault}" for fault in faults)
    return ended


def _faults(scenario: Scenario, folder: Path, ended: Ended, wanted: object) -> Iterator[str]:
    if ended.status == 2 or "\n" in ended.said:
        yield f"ended with {ended.said[:200]}"
    try:
        if not scenario.holds(folder, ended.acknowledged):
            yield "what was acknowledged is lost, or a file is torn"
    except Exception as error:
        yield f"afterwards {type(error).__name__}: {str(error)[:200]}"
    again = in_child(scenario, folder, lambda _: None)
    if again.status != 0:
        yield f"cannot go on: {again.said[:200]}"
        return
    try:
        if scenario.state(folder) != wanted:
            yield "came to another end"
    except Exception as error:
        yield f"then {type(error).__name__}: {str(error)[:200]}"


WAYS: dict[str, Callable[[str], Tally]] = {
    "kill": partial(killed, moments=30),
    "system-call": killed_by_system_call,
    "full": full_disk,
    "gone": partial(hindered, happens=gone),
    "denied": partial(hindered, happens=denied),
}


def main() -> int:
    """Runs what the command line asks for."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("commands", nargs="*", help=f"of {', '.join(SCENARIOS)}; default: all")
    parser.add_argument("--by", choices=[*WAYS, "hear"], default="kill", help="what happens")
    given = parser.parse_args()
    if unknown := set(given.commands) - set(SCENARIOS):
        parser.error(f"no such command: {', '.join(sorted(unknown))}")
    table = Table("command", f"tries ({given.by})", "kills", "faults")
    tallies = (
        {"log": killed_while_hearing(20)}
        if given.by == "hear"
        else {name: WAYS[given.by](name) for name in given.commands or SCENARIOS}
    )
    for name, tally in tallies.items():
        table.add_row(name, str(tally.tries), str(tally.kills), str(len(tally.faults)))
    Console().print(table)
    faults = [fault for tally in tallies.values() for fault in tally.faults]
    for fault in faults:
        print(fault)
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
