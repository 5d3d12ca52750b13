"""A plain program for the same job, to measure Wearword against.

The recogniser's usual sequential call, the lexicon as a list of phrases compared by spelling, and
the nearest part for every flaw within a segment. It knows no walk, no references, no header; it
is told the kind of machine.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from faster_whisper import WhisperModel
from rapidfuzz import fuzz, process

from lexicon.load import Lexicon, Phrase, load_lexicon
from pipeline.listen.weights import default_files
from pipeline.models import (
    CleanPart,
    Finding,
    Kind,
    Line,
    Mention,
    Record,
    Settings,
    Source,
    Transcript,
    Vehicle,
    Word,
)
from pipeline.score.truth import HISTORY

_ROLES = ("part", "defect", "qualifier", "position", "side")
_LIKE = 88.0  # spelling, out of 100: the best of 78 to 100 on exact text and captions of `fit`
_UNSURE = 0.5  # probability of a word, below which a finding is flagged
_NEAR = 4  # words between a flaw or part and what qualifies it


@dataclass(frozen=True)
class Hit:
    """A lexicon phrase met in a segment: its words' first index and the one after the last."""

    phrase: Phrase
    first: int
    end: int

    def gap(self, other: "Hit") -> int:
        """Words between two hits."""
        return max(self.first - other.end, other.first - self.end)


@lru_cache
def usual_model(threads: int) -> WhisperModel:
    """The recogniser as the library loads it: the published weights, one call at a time."""
    return WhisperModel(
        "base", device="cpu", compute_type="int8", cpu_threads=threads, files=default_files()
    )


def transcribe(recording: Path, threads: int) -> Transcript:
    """Segments of the recogniser's usual call: beam 5, word times, voice detection."""
    segments, info = usual_model(threads).transcribe(
        str(recording), language="en", beam_size=5, word_timestamps=True, vad_filter=True
    )
    lines = []
    for number, segment in enumerate(segments, 1):
        words = [
            Word(text=w.word.strip(), start_s=w.start, end_s=w.end, probability=w.probability)
            for w in segment.words or ()
        ]
        lines.append(
            Line(
                id=f"L{number:03}",
                start_s=segment.start,
                end_s=segment.end,
                text=segment.text.strip(),
                words=words,
            )
        )
    return Transcript(origin="recogniser", lines=lines, duration_s=info.duration)


def read(transcript: Transcript, kind: Kind, name: str) -> Record:
    """The record of a transcript; a flaw of the same place again is a mention of the first."""
    lexicon = load_lexicon(kind)
    phrases = _by_length(lexicon)
    findings: dict[tuple[object, ...], Finding] = {}
    clean: list[CleanPart] = []
    for line in transcript.lines:
        words = [word.text.lower().strip(".,!?;:") for word in line.words]
        hits = _hits(words, phrases)
        parts = [hit for hit in hits if hit.phrase.role == "part"]
        for flaw in (hit for hit in hits if hit.phrase.role == "defect"):
            part = _nearest(parts, flaw, len(words))
            if part is None:
                continue
            if "no" in words[max(0, flaw.first - 2) : flaw.first]:
                clean.append(_clean(line, part, hits))
                continue
            found = _finding(f"F{len(findings) + 1:03}", line, part, flaw, hits)
            key = (found.part, found.position, found.side, found.defect)
            if key in findings:
                again = Mention(start_s=found.start_s, end_s=found.end_s, heard=found.heard)
                findings[key].mentions.append(again)
            else:
                findings[key] = found
    return Record(
        source=Source(
            file_name=name,
            sha256="0" * 64,
            duration_s=transcript.duration_s,
            has_video=False,
            transcript_origin=transcript.origin,
        ),
        vehicle=Vehicle(kind=kind),
        findings=list(findings.values()),
        clean=clean,
        unmentioned=[],
        lines=transcript.lines,
        settings=Settings(
            program_version="baseline", lexicon=kind, lexicon_version=lexicon.version
        ),
    )


def _by_length(lexicon: Lexicon) -> dict[int, list[Phrase]]:
    """The phrase list, by number of words; words that are ordinary English too are left out."""
    phrases: dict[int, list[Phrase]] = {}
    for phrase in lexicon.phrases:
        if phrase.role in _ROLES and not phrase.weak:
            phrases.setdefault(len(phrase.text.split()), []).append(phrase)
    return phrases


def _hits(words: Sequence[str], by_length: Mapping[int, Sequence[Phrase]]) -> list[Hit]:
    """Phrases in the words, the longest first, the likest of those; none overlaps another."""
    taken: set[int] = set()
    hits: list[Hit] = []
    for length in sorted(by_length, reverse=True):
        texts = [phrase.text for phrase in by_length[length]]
        windows = [" ".join(words[i : i + length]) for i in range(len(words) - length + 1)]
        found = []
        for first, window in enumerate(windows):
            best = process.extractOne(window, texts, scorer=fuzz.ratio, score_cutoff=_LIKE)
            if best is not None:
                found.append((-best[1], first, by_length[length][best[2]]))
        for _, first, phrase in sorted(found):
            span = range(first, first + length)
            if not taken.intersection(span):
                taken.update(span)
                hits.append(Hit(phrase, first, first + length))
    return hits


def _nearest(hits: Sequence[Hit], to: Hit, within: int) -> Hit | None:
    near = [hit for hit in hits if hit.gap(to) <= within]
    return min(near, key=to.gap, default=None)


def _near_id(hits: Sequence[Hit], role: str, to: Hit, within: int) -> str | None:
    hit = _nearest([hit for hit in hits if hit.phrase.role == role], to, within)
    return hit.phrase.id if hit else None


def _clean(line: Line, part: Hit, hits: Sequence[Hit]) -> CleanPart:
    spoken = line.words[part.first : part.end]
    return CleanPart(
        part=part.phrase.id,
        position=_near_id(hits, "position", part, 1),
        side=_near_id(hits, "side", part, len(line.words)),
        start_s=spoken[0].start_s,
        end_s=spoken[-1].end_s,
    )


def _finding(finding_id: str, line: Line, part: Hit, flaw: Hit, hits: Sequence[Hit]) -> Finding:
    grade = _near_id(hits, "qualifier", flaw, _NEAR)
    default = None if flaw.phrase.id in HISTORY else 3
    spoken = line.words[min(part.first, flaw.first) : max(part.end, flaw.end)]
    heard = " ".join(word.text for word in spoken)
    named = [*line.words[part.first : part.end], *line.words[flaw.first : flaw.end]]
    sure = min(1.0 if word.probability is None else word.probability for word in named)
    return Finding(
        id=finding_id,
        part=part.phrase.id,
        position=_near_id(hits, "position", part, 1),
        side=_near_id(hits, "side", part, len(line.words)),
        defect=flaw.phrase.id,
        severity=int(grade) if grade else default,
        severity_basis="spoken" if grade else "default",
        start_s=spoken[0].start_s,
        end_s=spoken[-1].end_s,
        heard=heard,
        read_as=heard,
        confidence=sure,
        status="flagged" if sure < _UNSURE else "clear",
        line_id=line.id,
    )
