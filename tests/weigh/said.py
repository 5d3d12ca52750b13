"""Transcripts made on the spot: half a second a word, a second between lines."""

from pipeline.models import Line, Transcript, Word


def words(text: str, sure: float | None = 0.9, start_s: float = 0.0) -> list[Word]:
    """One word after another; "?" marks a word hardly heard."""
    return [
        Word(
            text=word.rstrip("?"),
            start_s=start_s + at * 0.5,
            end_s=start_s + (at + 1) * 0.5,
            probability=0.2 if word.endswith("?") else sure,
        )
        for at, word in enumerate(text.split())
    ]


def transcript(*texts: str, sure: float | None = 0.9) -> Transcript:
    """A line of each text; captions where nothing is `sure`."""
    lines: list[Line] = []
    start_s = 0.0
    for number, text in enumerate(texts, 1):
        said = words(text, sure, start_s)
        lines.append(
            Line(
                id=f"L{number:03}",
                start_s=start_s,
                end_s=said[-1].end_s,
                text=" ".join(word.text for word in said),
                words=said,
            )
        )
        start_s = said[-1].end_s + 1.0
    origin = "plain_text" if sure is None else "recogniser"
    return Transcript(origin=origin, lines=lines, duration_s=start_s)
