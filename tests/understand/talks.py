"""Talks for tests: sentences in, what they state out."""

from pipeline.models import Kind, Line, Transcript, Understanding, Word
from pipeline.understand.reading import understand


def talk(*sentences: str) -> Transcript:
    """A transcript of one line a sentence, half a second a word, a second between lines."""
    lines = []
    now_s = 0.0
    for number, sentence in enumerate(sentences, 1):
        words = []
        for text in sentence.split():
            words.append(Word(text=text, start_s=now_s, end_s=now_s + 0.5))
            now_s += 0.5
        lines.append(
            Line(
                id=f"L{number:03}",
                start_s=words[0].start_s,
                end_s=now_s,
                text=sentence,
                words=words,
            )
        )
        now_s += 1
    return Transcript(origin="plain_text", lines=lines, duration_s=now_s)


def read(*sentences: str, kind: Kind = "motorcycle") -> Understanding:
    """What the sentences mean, said of a machine of a kind."""
    return understand(talk(*sentences), kind)


def flaws(*sentences: str) -> list[tuple[str | None, ...]]:
    """Place and flaw of each statement: (side, position, part, defect), in order."""
    return [
        (s.place.side, s.place.position, s.place.part, s.defect)
        for s in read(*sentences).statements
    ]


def pairs(*sentences: str, kind: Kind = "motorcycle") -> list[str]:
    """Part and flaw of each statement ("fuel_tank dent"), in order."""
    return [f"{s.place.part} {s.defect}" for s in read(*sentences, kind=kind).statements]


def clean(*sentences: str, kind: Kind = "motorcycle") -> list[str]:
    """The parts called clean, in order."""
    return [part.part for part in read(*sentences, kind=kind).clean]


def mentioned(*sentences: str, kind: Kind = "motorcycle") -> list[str]:
    """Part and flaw of each second mention, in order of the statements."""
    return [
        f"{s.place.part} {s.defect}"
        for s in read(*sentences, kind=kind).statements
        for _ in s.mentions
    ]
