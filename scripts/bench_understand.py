"""Lines understood a second, with the lexicon as it is and with ten times the phrases.

    python scripts/bench_understand.py [--times 1 10 100]

The talk is every narration of the split `fit`, one line a sentence, read as one walkaround. The
larger lexicon adds a shop's own file of made-up phrases: real parts and flaws with a made-up word
before or after, so that they begin and end as true ones do. Times are of the process on one core,
the best of several runs that take turns; making the pipeline, done once, is told apart.
"""

import random
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from benchmarking import arguments, show

from lexicon.load import FileText, Lexicon, extra_text, load_lexicon
from pipeline.models import Kind, Line, Transcript
from pipeline.score.timing import at_steady_pace, exact_transcript
from pipeline.score.truth import read_truth
from pipeline.understand.reading import understand

FIT = Path(__file__).parent.parent / "tests" / "narrations" / "fit"
KIND: Kind = "motorcycle"
RUNS = 5


@dataclass
class Measured:
    """A lexicon of so many times the phrases: its own file, and process times in seconds."""

    times: int
    extra: FileText | None
    making_s: float = 0.0
    runs_s: list[float] = field(default_factory=list)


def talk() -> Transcript:
    """All narrations of the split as one talk, with times as at an even pace."""
    lines: list[Line] = []
    now_s = 0.0
    for path in sorted(FIT.glob("*.toml")):
        transcript = exact_transcript(at_steady_pace(read_truth(path)))
        lines += (_later(line, now_s) for line in transcript.lines)
        now_s += transcript.duration_s
    return Transcript(origin="plain_text", lines=lines, duration_s=now_s)


def _later(line: Line, by_s: float) -> Line:
    moved = {"start_s": line.start_s + by_s, "end_s": line.end_s + by_s}
    return line.model_copy(update=moved)


def made_up(lexicon: Lexicon, times: int) -> Iterator[tuple[str, str, str]]:
    """Role, id and text of made-up phrases, so that there are `times` as many."""
    chance = random.Random(1)
    named = [p for p in lexicon.phrases if p.id in lexicon.parts or p.id in lexicon.defects]
    seen = {phrase.text for phrase in lexicon.phrases}
    wanted = (times - 1) * len(lexicon.phrases)
    while wanted > 0:
        phrase = chance.choice(named)
        word = "".join(chance.choice("bdfgklmnprstvz") + chance.choice("aeiou") for _ in range(3))
        text = f"{word} {phrase.text}" if chance.random() < 0.5 else f"{phrase.text} {word}"
        if text not in seen:
            seen.add(text)
            wanted -= 1
            yield phrase.role, phrase.id, text


def write_extra(path: Path, lexicon: Lexicon, times: int) -> None:
    """A shop's own file of the made-up phrases; `!` keeps plurals from being made of them."""
    tables: dict[str, dict[str, list[str]]] = {"part_phrases": {}, "defect_phrases": {}}
    for role, id_, text in made_up(lexicon, times):
        tables[f"{role}_phrases"].setdefault(id_, []).append(f'"{text}!"')
    path.write_text(
        "\n".join(
            line
            for table, entries in tables.items()
            for line in [f"[{table}]", *(f"{i} = [{', '.join(p)}]" for i, p in entries.items())]
        ),
        "utf-8",
    )


def main() -> None:
    """Prints the table."""
    parser = arguments(__doc__)
    parser.add_argument("--times", type=int, nargs="+", default=[1, 10])
    given = parser.parse_args()
    transcript = talk()
    with tempfile.TemporaryDirectory() as folder:
        systems = []
        for times in given.times:
            path = Path(folder) / f"{times}.toml"
            write_extra(path, load_lexicon(KIND), times)
            systems.append(Measured(times, extra_text(path)))
            systems[-1].making_s = _time(transcript, systems[-1])
        for _ in range(RUNS):
            for system in systems:
                system.runs_s.append(_time(transcript, system))
    first_s = min(systems[0].runs_s)
    rows = {}
    for system in systems:
        best_s = min(system.runs_s)
        phrases = len(load_lexicon(KIND, system.extra).phrases)
        making_s = system.making_s - best_s
        speed = len(transcript.lines) / best_s
        rows[f"{system.times}x"] = (phrases, making_s, speed, best_s / first_s)
    columns = ("phrases", "making (s)", "lines a second", "time, to the first")
    show(f"{len(transcript.lines)} lines on one core", columns, rows, given.plot)


def _time(transcript: Transcript, system: Measured) -> float:
    start_s = time.process_time()
    understand(transcript, KIND, system.extra)
    return time.process_time() - start_s


if __name__ == "__main__":
    main()
