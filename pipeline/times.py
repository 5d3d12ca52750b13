"""Intervals in seconds, and the ways of writing a time down."""

import re

from pydantic import BaseModel, ConfigDict, model_validator

from pipeline.errors import WearwordError


class Interval(BaseModel):
    """A stretch of the recording, in seconds from the start of the media; end not before start."""

    model_config = ConfigDict(frozen=True)

    start_s: float
    end_s: float

    @model_validator(mode="after")
    def _ordered(self) -> "Interval":
        if self.end_s < self.start_s:
            raise ValueError(f"an interval ends at {self.end_s} before it starts at {self.start_s}")
        return self

    @property
    def duration_s(self) -> float:
        """Length in seconds."""
        return self.end_s - self.start_s

    def overlap_s(self, other: "Interval") -> float:
        """Seconds shared with another interval; 0 where they are apart."""
        return max(0.0, min(self.end_s, other.end_s) - max(self.start_s, other.start_s))

    def gap_s(self, other: "Interval") -> float:
        """Seconds between two intervals; 0 where they touch or overlap."""
        return max(0.0, max(self.start_s, other.start_s) - min(self.end_s, other.end_s))


LATEST_S = 36_000_000.0  # ten thousand hours: no recording, and no time in one, is later

_CLOCK = re.compile(r"(?:(\d{1,4}):)?([0-5]?\d):([0-5]\d)(?:\.(\d{1,3}))?")


def clock(seconds: float) -> str:
    """`m:ss`, from one hour on `h:mm:ss`; rounded down, never negative.

    >>> clock(83.4), clock(3725)
    ('1:23', '1:02:05')
    """
    whole = max(0, int(seconds))
    hours, rest = divmod(whole, 3600)
    minutes, secs = divmod(rest, 60)
    return f"{hours}:{minutes:02}:{secs:02}" if hours else f"{minutes}:{secs:02}"


def parse_clock(text: str) -> float:
    """Seconds from `m:ss` or `h:mm:ss`, with optional thousandths.

    Raises WearwordError where the text is not such a time.
    """
    found = _CLOCK.fullmatch(text.strip())
    if not found:
        raise WearwordError(f"'{text}' is not a time; write m:ss or h:mm:ss")
    hours, minutes, secs, fraction = found.groups()
    return int(hours or 0) * 3600 + int(minutes) * 60 + int(secs) + float(f"0.{fraction or 0}")


def webvtt_time(seconds: float) -> str:
    """`hh:mm:ss.ttt` as WebVTT writes it, rounded to the nearest thousandth.

    >>> webvtt_time(3723.004)
    '01:02:03.004'
    """
    ms = max(0, round(seconds * 1000))
    hours, ms = divmod(ms, 3_600_000)
    minutes, ms = divmod(ms, 60_000)
    secs, ms = divmod(ms, 1000)
    return f"{hours:02}:{minutes:02}:{secs:02}.{ms:03}"
