"""Corrections teach: what was heard, and what a reviewer says it was, kept for the next recording.

Each lesson names the recording and finding it comes from, so that a recording teaches each of its
findings once, however often it is reviewed, and a decision taken back takes its lesson along.
Lessons that say different things of the same words cancel. The file belongs to the user, holds
plain JSON, and every reading in it can be looked at and forgotten.
"""

import re
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator
from datetime import datetime
from difflib import SequenceMatcher
from pathlib import Path
from typing import NamedTuple

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from rapidfuzz import fuzz

from pipeline.errors import ReviewError
from pipeline.models import Finding, Record
from pipeline.record import write_atomically
from pipeline.review.choices import Choices
from pipeline.review.journal import Entry, standing
from pipeline.review.own_files import chosen_file, locked, own_file
from pipeline.review.sitting import current_record, history
from pipeline.review.wordbook import EVERYDAY, Wordbook
from pipeline.weigh.lessons import Taught

_WORD = re.compile(r"[a-z0-9']+")
_REACH = 2  # words on either side that may be needed to make a phrase of the lexicon whole
_WIDENINGS = sorted(
    ((before, after) for before in range(_REACH + 1) for after in range(_REACH + 1)), key=sum
)
_FEWEST_LETTERS = 4  # shorter words are heard everywhere
_LEAST_ALIKE = 40.0  # of 100, rapidfuzz ratio of the letters: a mishearing resembles what was said


class Lesson(BaseModel):
    """One correction: the words heard, what they were, and where that was decided."""

    model_config = ConfigDict(frozen=True)

    heard: str
    read_as: str
    recording: str
    target: str
    by: str
    at: datetime


class Learned(BaseModel):
    """The file: lessons, and when the lessons about some words were last forgotten."""

    lessons: list[Lesson] = Field(default_factory=list)
    forgotten: dict[str, datetime] = Field(default_factory=dict)


class Reading(NamedTuple):
    """What words are read as, from how many corrections, and by whom."""

    heard: str
    read_as: str
    times: int
    by: tuple[str, ...]


def learned_path() -> Path:
    """Where the user's learned readings are kept."""
    return own_file("learned.json")


def learned_file(choice: str | None) -> Path | None:
    """The file of learned readings that a user chooses, as `chosen_file` does."""
    return chosen_file(choice, learned_path())


def taught(path: Path | None) -> tuple[Taught, ...]:
    """The readings in force in a file, to read the next recording by; no file teaches nothing.

    Raises ReviewError where the file is damaged, or is a shared one that is not there.
    """
    if path is None:
        return ()
    if path != learned_path() and not path.exists():
        raise ReviewError(f"{path}: there is no such file of learned readings")
    found = readings(read_learned(path))
    return tuple(Taught(reading.heard, reading.read_as, reading.times) for reading in found)


def learn(findings: Path, words: Wordbook, path: Path | None) -> list[Lesson]:
    """Keeps what the settled findings of a file teach, and returns it; done again, nothing changes.

    Without a path it is kept nowhere.

    Raises ReviewError where a file is damaged, RecordError where one cannot be read or written.
    """
    record = current_record(findings)
    choices = words.choices(record.vehicle.kind)
    lessons = lessons_of(record, history(findings).entries, choices)
    if path and (lessons or path.exists()):
        teach(path, record.source.sha256, lessons)
    return lessons


def lessons_of(record: Record, entries: Iterable[Entry], choices: Choices) -> list[Lesson]:
    """What the settled findings of a record teach: where a term was heard as something else."""
    terms = {
        phrase for table in (choices.parts, choices.defects) for row in table.values()
        for phrase in row
    }  # fmt: skip
    settled = {
        change.id: entry
        for entry in standing(list(entries))
        for change in entry.changes
        if change.of == "finding"
    }
    return [
        Lesson(
            heard=heard,
            read_as=read_as,
            recording=record.source.sha256,
            target=finding.id,
            by=settled[finding.id].by,
            at=settled[finding.id].at,
        )
        for finding in record.findings
        if finding.id in settled and finding.status in ("confirmed", "amended")
        for heard, read_as in misheard(finding, terms)
    ]


def misheard(finding: Finding, terms: Collection[str]) -> Iterator[tuple[str, str]]:
    """The stretches of a finding's words that were heard wrongly, with the terms they were.

    Only what became a phrase of the lexicon counts, and only if the words heard are not a phrase of
    it themselves, are no everyday word, and resemble it.
    """
    heard, read = words(finding.heard), words(finding.read_as)
    for tag, i, j, k, m in SequenceMatcher(None, heard, read, autojunk=False).get_opcodes():
        if tag != "replace":
            continue
        pairs = (
            (" ".join(heard[i - before : j + after]), " ".join(read[k - before : m + after]))
            for before, after in _WIDENINGS
            if heard[i - before : i] == read[k - before : k] and before <= min(i, k)
            if heard[j : j + after] == read[m : m + after] and after <= len(heard) - j
        )
        found = next(((wrong, right) for wrong, right in pairs if right in terms), None)
        if found and found[0] not in terms and _is_telling(*found):
            yield found


def _is_telling(heard: str, read_as: str) -> bool:
    letters = heard.replace(" ", ""), read_as.replace(" ", "")
    return (
        heard not in EVERYDAY
        and len(letters[0]) >= _FEWEST_LETTERS
        and fuzz.ratio(*letters) >= _LEAST_ALIKE
    )


def words(text: str) -> list[str]:
    """The words of a text in lower case, without marks."""
    return _WORD.findall(text.lower())


def readings(learned: Learned) -> list[Reading]:
    """The readings in force, in order of the words heard: those that most lessons agree on."""
    lessons: dict[str, list[Lesson]] = defaultdict(list)
    for lesson in learned.lessons:
        forgotten = learned.forgotten.get(lesson.heard)
        if forgotten is None or lesson.at > forgotten:
            lessons[lesson.heard].append(lesson)
    found: list[Reading] = []
    for heard, given in sorted(lessons.items()):
        (read_as, times), *_ = Counter(lesson.read_as for lesson in given).most_common()
        if 2 * times > len(given):
            by = {lesson.by for lesson in given if lesson.read_as == read_as}
            found.append(Reading(heard, read_as, times, tuple(sorted(by))))
    return found


def read_learned(path: Path) -> Learned:
    """Reads the file; one that is not there is empty. Raises ReviewError where it is damaged."""
    try:
        return Learned.model_validate_json(path.read_bytes())
    except FileNotFoundError:
        return Learned()
    except OSError as error:
        raise ReviewError(f"{path}: cannot be read: {error.strerror}") from error
    except ValidationError as error:
        fault = error.errors()[0]["msg"]
        raise ReviewError(f"{path}: is not a file of learned readings: {fault}") from error


def teach(path: Path, recording: str, lessons: Iterable[Lesson]) -> None:
    """Puts a recording's lessons in place of those that it taught before.

    Raises ReviewError where the file is damaged, RecordError where it cannot be written.
    """
    with locked(path):
        learned = read_learned(path)
        kept = [lesson for lesson in learned.lessons if lesson.recording != recording]
        _write(path, learned.model_copy(update={"lessons": [*kept, *lessons]}))


def forget(path: Path, heard: str, now: datetime) -> bool:
    """Forgets the reading of some words; later lessons may teach it anew. False if there is none.

    Raises ReviewError where the file is damaged, RecordError where it cannot be written.
    """
    with locked(path):
        learned = read_learned(path)
        if heard not in {reading.heard for reading in readings(learned)}:
            return False
        _write(path, learned.model_copy(update={"forgotten": {**learned.forgotten, heard: now}}))
        return True


def _write(path: Path, learned: Learned) -> None:
    write_atomically(path, (learned.model_dump_json(indent=2) + "\n").encode())
