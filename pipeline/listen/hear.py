"""What was heard, as lines."""

from pipeline.listen.lines import build_lines, flag_lines
from pipeline.listen.recogniser import Heard
from pipeline.models import Transcript


def to_transcript(heard: Heard, duration_s: float) -> Transcript:
    """The lines of what was heard, with flags for what was hardly spoken."""
    lines = build_lines(heard.words, heard.unheard)
    return Transcript(
        origin="recogniser",
        lines=flag_lines(lines, heard.voiced, heard.hotwords),
        duration_s=duration_s,
    )
