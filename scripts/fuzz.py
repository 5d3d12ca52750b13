"""Bad input, at length: every reader is fed damaged and invented files until something escapes.

    python scripts/fuzz.py                               every target, 500 tries each
    python scripts/fuzz.py captions --tries 20000 --seed 7
    python scripts/fuzz.py cut flipped                   the samples cut off, and with bytes flipped
    python scripts/fuzz.py captions --guided 600         guided by coverage, for ten minutes

A try ends well where it gives a result or one error of ours within its time and memory. Each runs
in a child process, so that a crash of a library counts as what it is. What escapes is kept in the
folder `--keep`, once for each place in our code. `--guided` needs atheris.
"""

import argparse
import json
import os
import random
import re
import resource
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import islice
from pathlib import Path
from types import FrameType
from typing import NamedTuple

import av
from av.audio.stream import AudioStream
from rich.console import Console
from rich.table import Table

from lexicon.errors import LexiconError
from lexicon.load import extra_text, load_lexicon
from pipeline.errors import WearwordError
from pipeline.listen.captions import read_captions
from pipeline.listen.media import read_media
from pipeline.models import Record
from pipeline.publish.folder import publish
from pipeline.publish.provenance import verify
from pipeline.record import record_to_json
from pipeline.review.decisions import read_decisions
from pipeline.score.truth import read_truth
from pipeline.understand.reading import read_text
from pipeline.walkaround import Options, log_transcript, save

ROOT = Path(__file__).resolve().parent.parent
TIME_S = 10  # of the processor; of the clock six times that
MEMORY = 6 * 2**30

# What breaks readers: numbers that are none or too large, marks of other formats, odd characters.
NASTY = (
    b"1e999", b"-1e308", b"NaN", b"Infinity", b"-0", b"9" * 400, b"9" * 5000, b"0x7f", b"1/0",
    b"[" * 3000, b"{" * 3000, b'"' * 50, b"\x00", b"\xff\xfe", b"\xed\xa0\x80", b"\\ud800",
    b"\xef\xbb\xbf", "\u202e".encode(), "\u2028".encode(), "\U0001f3cd".encode(), b"\x1b[31m",
    b"\x1b]0;x\x07", b"-->", b"</script><script>", b"{{ 7 * 7 }}", b"{% include '/etc/passwd' %}",
    b"=cmd|' /C x'!A0", b"../" * 20, b"[/b]", b"\r", b"\r\n\r\n", b" " * 3000, b"and one " * 300,
    b"null", b"true", b"[]", b"{}", b'""',
)  # fmt: skip


class Seed(NamedTuple):
    """A file's name and content."""

    name: str
    content: bytes


Damage = Callable[[Sequence[Seed], random.Random], Iterator[Seed]]


@dataclass(frozen=True)
class Target:
    """A reader: good files for it, how it is fed with one, and how they are damaged."""

    seeds: Callable[[], list[Seed]]
    feed: Callable[[Path], object]
    damage: Damage


@dataclass
class Tally:
    """How the tries of a target ended; `escaped` has one content for each place and kind."""

    tries: int = 0
    results: int = 0
    refusals: int = 0
    failures: int = 0
    escaped: dict[str, Seed] = field(default_factory=dict)


# --- inputs -------------------------------------------------------------------------------------


def damaged(seeds: Sequence[Seed], chance: random.Random) -> Iterator[Seed]:
    """The seeds, damaged in one to three ways each, now and then under another's name; no end."""
    contents = [seed.content for seed in seeds]
    while True:
        name, content = chance.choice(seeds)
        for _ in range(chance.randint(1, 3)):
            content = chance.choice(_WAYS)(content, contents, chance)
        yield Seed(name if chance.random() < 0.9 else chance.choice(seeds).name, content)


def _flip(content: bytes, _seeds: Sequence[bytes], chance: random.Random) -> bytes:
    changed = bytearray(content)
    for _ in range(chance.randint(1, 3) if changed else 0):
        changed[chance.randrange(len(changed))] ^= 1 << chance.randrange(7)  # stays ASCII
    return bytes(changed)


def _cut_off(content: bytes, _seeds: Sequence[bytes], chance: random.Random) -> bytes:
    return content[: chance.randint(0, len(content))]


def _drop(content: bytes, _seeds: Sequence[bytes], chance: random.Random) -> bytes:
    start, end = sorted(chance.choices(range(len(content) + 1), k=2))
    return content[:start] + content[end:]


def _repeat(content: bytes, _seeds: Sequence[bytes], chance: random.Random) -> bytes:
    start, end = sorted(chance.choices(range(len(content) + 1), k=2))
    piece = content[start : min(end, start + 2000)]
    return content[:start] + piece * chance.choice((2, 5, 50)) + content[start:]


def _insert(content: bytes, _seeds: Sequence[bytes], chance: random.Random) -> bytes:
    at = chance.randint(0, len(content))
    return content[:at] + chance.choice(NASTY) + content[at:]


def _renumber(content: bytes, _seeds: Sequence[bytes], chance: random.Random) -> bytes:
    return _replaced(content, rb"\d+(?:\.\d+)?", chance)


def _retext(content: bytes, _seeds: Sequence[bytes], chance: random.Random) -> bytes:
    return _replaced(content, rb"[a-z]{3,}", chance)


def _replaced(content: bytes, pattern: bytes, chance: random.Random) -> bytes:
    spots = list(re.finditer(pattern, content))
    if not spots:
        return content
    spot = chance.choice(spots)
    return content[: spot.start()] + chance.choice(NASTY) + content[spot.end() :]


def _splice(content: bytes, seeds: Sequence[bytes], chance: random.Random) -> bytes:
    other = chance.choice(seeds)
    return content[: chance.randint(0, len(content))] + other[chance.randint(0, len(other)) :]


_WAYS = (
    _flip,
    _cut_off,
    _drop,
    _repeat,
    _insert,
    _insert,
    _renumber,
    _renumber,
    _retext,
    _splice,
)


def cut(seeds: Sequence[Seed], chance: random.Random) -> Iterator[Seed]:
    """The seeds cut off at 200 places in all, in any order, under names that may mislead."""
    steps = list(range(200))
    chance.shuffle(steps)
    for step in steps:
        content = seeds[step % len(seeds)].content
        yield Seed(chance.choice(_ENDINGS), content[: len(content) * step // 200])


def flipped(seeds: Sequence[Seed], chance: random.Random) -> Iterator[Seed]:
    """The seeds with one to ten bytes changed, half of them in the first 4 KiB, 500 in all."""
    for step in range(500):
        changed = bytearray(seeds[step % len(seeds)].content)
        reach = min(4096, len(changed)) if step % 2 else len(changed)
        for _ in range(chance.randint(1, 10)):
            changed[chance.randrange(reach)] = chance.randrange(256)
        yield Seed(chance.choice(_ENDINGS), bytes(changed))


# --- targets ------------------------------------------------------------------------------------


def _files(*patterns: str) -> Callable[[], list[Seed]]:
    return lambda: [
        Seed(path.name, path.read_bytes())
        for pattern in patterns
        for path in sorted(ROOT.glob(pattern))
    ]


def _captions() -> list[Seed]:
    said = {"start": 0.5, "end": 3, "text": "A dent in the tank.", "words": [
        {"word": "dent", "start": 0.6, "end": 0.9, "probability": 0.9}]}  # fmt: skip
    segments = [{"start": 4, "end": 6, "text": "The left mirror is cracked."}, said][::-1]
    recognised = json.dumps({"segments": segments}).encode()
    plain = b"[0:05] A two inch scratch on the left saddlebag.\n[0:09] The seat is torn.\n"
    return [
        *_files("tests/captions/g0[1-4].*t", "samples/*.vtt")(),
        *[Seed("a.json", recognised), Seed("a.txt", plain)] * 3,
    ]


def _record() -> Record:
    captions = ROOT / "samples" / "pellam.vtt"
    return log_transcript(captions, None, Options(kind="motorcycle")).record


_DECISIONS = b"""{"kind": "accept", "target": "F003"}
{"kind": "amend", "target": "F003", "to": {"part": "saddlebag", "position": null, "size_mm": 2.5}}
{"kind": "reread", "target": "L012", "said": "small crack in the saddlebag lid"}
{"kind": "merge", "target": "F005", "into": "F002"}
{"kind": "split", "target": "F006", "into": [{"defect": "chip"}, {"defect": "scratch"}]}
{"kind": "add", "at_s": 83.4, "finding": {"part": "mirror", "defect": "crack"}}
{"kind": "undo", "number": 4}
"""
_TALK = b"""On the left side the saddlebag has a two-inch scratch, and a dent the size of a dime.
It's a 2014 Corvane Rider, stock number B4471, VIN one M eight G D M nine A X K P zero four two.
Rust on about eight percent of the frame. No chips on the tank. The other side is the same.
Three or four scratches, a sixteenth of an inch, one point five inches, 12,430 miles.
"""


def _read_manifest(manifest: Path) -> object:
    (manifest.parent.parent / "findings.json").write_bytes(b"{}")
    return verify(manifest.parent)


def _decide(decisions: Path) -> object:
    return read_decisions(decisions.read_bytes().decode("utf-8", "replace"), decisions.name)


def _fill_template(template: Path) -> object:
    findings = template.parent.parent / "findings.json"
    findings.write_bytes(_findings()[0].content)
    return publish(findings, templates=template.parent)


@lru_cache
def _findings() -> list[Seed]:
    return [Seed("findings.json", record_to_json(_record()))]


def _manifests() -> list[Seed]:
    with tempfile.TemporaryDirectory() as folder:
        findings = Path(folder) / "findings.json"
        findings.write_bytes(_findings()[0].content)
        made = publish(findings).folder / "manifest.json"
        return [Seed("published/manifest.json", made.read_bytes())]


def _recordings() -> list[Seed]:
    """The samples, and twenty seconds of one in containers that can be read from their start."""
    made = _files("samples/*.mp4", "samples/*.m4a")()
    for name in ("a.mka", "a.ts", "a.ogg", "a.mp3", "a.wav"):
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / name
            _resound(ROOT / "samples" / "calder.m4a", path)
            made.append(Seed(name, path.read_bytes()))
    return made


def _resound(source: Path, target: Path) -> None:
    codec = {".ogg": "libopus", ".mp3": "libmp3lame", ".wav": "pcm_s16le"}.get(target.suffix, "aac")
    with av.open(str(source)) as container, av.open(str(target), "w") as made:
        track = made.add_stream(codec, rate=48_000)
        assert isinstance(track, AudioStream)
        for frame in container.decode(audio=0):
            if frame.time is None or frame.time > 20:
                break
            made.mux(track.encode(frame))
        made.mux(track.encode())


_ENDINGS = ("a.mp4", "a.m4a", "a.wav", "a.mkv", "a.txt", "a")

TARGETS = {
    "captions": Target(_captions, read_captions, damaged),
    "whole": Target(
        _captions,
        lambda path: save(log_transcript(path, None, Options()).record, path.parent / "out"),
        damaged,
    ),
    "talk": Target(
        lambda: [Seed("a.txt", line) for line in _TALK.splitlines()],
        lambda path: read_text(path.read_bytes().decode("utf-8", "surrogateescape"), "motorcycle"),
        damaged,
    ),
    "lexicon": Target(
        _files("lexicon/data/motorcycle.toml", "lexicon/data/watercraft.toml"),
        lambda path: load_lexicon("motorcycle", extra_text(path)),
        damaged,
    ),
    "findings": Target(_findings, lambda path: publish(path, include_unconfirmed=True), damaged),
    "decisions": Target(lambda: [Seed("decisions.jsonl", _DECISIONS)], _decide, damaged),
    "truth": Target(
        _files("samples/*.toml", "samples/calder.json", "samples/pellam.json"), read_truth, damaged
    ),
    "manifest": Target(_manifests, _read_manifest, damaged),
    "template": Target(
        lambda: [
            Seed(f"shop/{name}", content)
            for name, content in _files("pipeline/publish/templates/*.j2")()
        ],
        _fill_template,
        damaged,
    ),
    "cut": Target(_recordings, read_media, cut),
    "flipped": Target(_recordings, read_media, flipped),
}


# --- running ------------------------------------------------------------------------------------


def run(name: str, tries: int, seed: int = 0) -> Tally:
    """Feeds a target with so many inputs (or all that there are), the same ones for a seed."""
    target, chance = TARGETS[name], random.Random(f"{name} {seed}")
    seeds = target.seeds()
    tally = Tally()
    _fed(target.feed, seeds[0])  # loads here what every child would load anew
    for damaged_seed in islice(target.damage(seeds, chance), tries):
        how = attempt(target.feed, damaged_seed)
        tally.tries += 1
        if how == "result":
            tally.results += 1
        elif how == "refusal":
            tally.refusals += 1
        else:
            tally.failures += 1
            tally.escaped.setdefault(how, damaged_seed)
    return tally


def attempt(feed: Callable[[Path], object], seed: Seed) -> str:
    """How a reader takes a file, in a child: "result", "refusal", or what escaped, and where."""
    ours, theirs = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(ours)
        with os.fdopen(theirs, "wb") as answer:
            answer.write(_answer(feed, seed).encode("utf-8", "backslashreplace"))
        os._exit(0)
    os.close(theirs)
    with os.fdopen(ours, "rb") as answer:
        how = answer.read().decode()
    _, status = os.waitpid(child, 0)
    return how or f"killed by signal {os.waitstatus_to_exitcode(status)}"


def _answer(feed: Callable[[Path], object], seed: Seed) -> str:
    for stream in (1, 2):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream)
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (TIME_S, TIME_S))  # also where no signal is looked at
    signal.signal(signal.SIGALRM, _too_slow)
    signal.alarm(6 * TIME_S)
    try:
        return _fed(feed, seed)
    except BaseException as error:  # whatever escapes is what is looked for
        return _place(error)
    finally:
        signal.alarm(0)


def _fed(feed: Callable[[Path], object], seed: Seed) -> str:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / seed.name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(seed.content)
        try:
            feed(path)
        except (WearwordError, LexiconError) as error:
            return "refusal" if str(error).strip() else "an error without a word"
        return "result"


def _too_slow(_signal: int, _frame: FrameType | None) -> None:
    raise TimeoutError


def _place(error: BaseException) -> str:
    """The error's kind, and the last place of ours on its way."""
    frames = traceback.extract_tb(error.__traceback__)
    own = [
        f for f in frames if f.filename.startswith((str(ROOT / "pipeline"), str(ROOT / "lexicon")))
    ]
    where = f"{Path(own[-1].filename).relative_to(ROOT)}, {own[-1].name}" if own else "outside"
    return f"{type(error).__name__} in {where}"


def guided(name: str, seconds: int, keep: Path) -> None:
    """Lets atheris look for inputs that reach new lines; ends at the first that escapes.

    What it changes is a name's number and a content, so that an input says how it was named. Half
    of the changes are atheris's own, half are ours.
    """
    import atheris  # type: ignore[import-untyped]  # noqa: PLC0415 (optional, and heavy)

    target = TARGETS[name]
    seeds = target.seeds()
    names = sorted({seed.name for seed in seeds})
    contents = [seed.content for seed in seeds]

    def named(content: bytes) -> Seed:
        return Seed(names[content[0] % len(names)] if content else names[0], content[1:])

    def changed(content: bytes, longest: int, number: int) -> bytes:
        chance = random.Random(number)
        if not content or chance.random() < 0.5:
            return bytes(atheris.Mutate(content, longest))
        return (content[:1] + chance.choice(_WAYS)(content[1:], contents, chance))[:longest]

    def fed(content: bytes) -> None:
        seed, began_s = named(content), time.process_time()
        try:
            _fed(target.feed, seed)
            if time.process_time() - began_s > 6 * TIME_S:  # what is looked at runs slower
                raise TimeoutError
        except BaseException:
            keep.mkdir(exist_ok=True)
            (keep / f"{name}-guided-{Path(seed.name).name}").write_bytes(seed.content)
            raise

    with tempfile.TemporaryDirectory() as corpus:
        for number, seed in enumerate(seeds):
            start = bytes([names.index(seed.name)])
            (Path(corpus) / str(number)).write_bytes(start + seed.content)
        atheris.instrument_all()
        options = [f"-max_total_time={seconds}", "-print_final_stats=1"]
        atheris.Setup([sys.argv[0], corpus, *options], fed, custom_mutator=changed)
        atheris.Fuzz()


def main() -> int:
    """Runs what the command line asks for; exit status 1 where anything escaped."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("targets", nargs="*", help=f"of {', '.join(TARGETS)}; default: all")
    parser.add_argument("--tries", type=int, default=500)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--keep", type=Path, default=Path("fuzz-escaped"))
    parser.add_argument("--guided", type=int, metavar="SECONDS")
    given = parser.parse_args()
    unknown = set(given.targets) - set(TARGETS)
    if unknown:
        parser.error(f"no such target: {', '.join(sorted(unknown))}")
    if given.guided:
        guided((given.targets or ["captions"])[0], given.guided, given.keep)
    table = Table("target", "tries", "results", "refusals", "failures", "places")
    places: Counter[str] = Counter()
    for name in given.targets or TARGETS:
        tally = run(name, given.tries, given.seed)
        table.add_row(name, *map(str, (tally.tries, tally.results, tally.refusals, tally.failures,
                                       len(tally.escaped))))  # fmt: skip
        for number, (place, seed) in enumerate(tally.escaped.items()):
            given.keep.mkdir(exist_ok=True)
            kept = f"{name}-{given.seed}-{number}-{Path(seed.name).name}"
            (given.keep / kept).write_bytes(seed.content)
            places[f"{name}: {place}"] += 1
    Console().print(table)
    for place in places:
        print(place)
    return 1 if places else 0


if __name__ == "__main__":
    sys.exit(main())
