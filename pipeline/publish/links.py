"""Links to a moment of the video: W3C Media Fragments, or a host's own pattern."""

import math
import re
from dataclasses import dataclass
from pathlib import PurePath
from urllib.parse import quote, urlsplit

from pipeline.errors import PublishError
from pipeline.times import Interval

_PLACEHOLDER = re.compile(r"\{([^{}]*)\}")
_WEB_ADDRESS = re.compile(r"[!-~]+")


@dataclass(frozen=True)
class Linker:
    """Makes the link of a phrase.

    `media` is the address of the video: http(s), or relative to the published folder; None where
    there is no video to link into. `pattern`, if given, makes the links instead. `lead_in_s`
    seconds before the phrase are part of the link, for the camera arrives before the word.
    """

    media: str | None
    pattern: str | None
    lead_in_s: float
    duration_s: float

    def moment(self, phrase: Interval) -> Interval:
        """The stretch of the video that a link to the phrase plays, within the recording."""
        end_s = min(phrase.end_s, self.duration_s) if self.duration_s else phrase.end_s
        start_s = max(0.0, phrase.start_s - self.lead_in_s)
        return Interval(start_s=min(start_s, end_s), end_s=end_s)

    def url(self, phrase: Interval) -> str | None:
        """The link itself, or None where there is nothing to link into."""
        moment = self.moment(phrase)
        if self.pattern is not None:
            return from_pattern(self.pattern, moment)
        if self.media is None:
            return None
        joint = "&" if "#" in self.media else "#"
        return f"{self.media}{joint}{media_fragment(moment)}"


def media_fragment(moment: Interval) -> str:
    """`t=83.4,91.25` after W3C Media Fragments URI 1.0: begin in, end out, at most three decimals.

    A moment without length has no end, for the Recommendation calls `t=3,3` invalid.
    """
    start, end = seconds(moment.start_s), seconds(moment.end_s)
    return f"t={start}" if start == end else f"t={start},{end}"


def from_pattern(pattern: str, moment: Interval) -> str:
    """A host's address with the moment filled in for its placeholders.

    {start_s} and {end_s} are seconds, {start_whole_s} and {end_whole_s} whole seconds, rounded
    outwards. Raises PublishError for any other placeholder, or for none.
    """
    values = {
        "start_s": seconds(moment.start_s),
        "end_s": seconds(moment.end_s),
        "start_whole_s": str(math.floor(moment.start_s)),
        "end_whole_s": str(math.ceil(moment.end_s)),
    }
    names = _PLACEHOLDER.findall(pattern)
    unknown = [name for name in names if name not in values]
    if unknown or not {"start_s", "start_whole_s"} & set(names):
        raise PublishError(
            f"the link pattern '{pattern}' must hold {{start_s}} or {{start_whole_s}}; "
            "it may also hold {end_s} and {end_whole_s}, and no other braces"
        )
    return checked_address(_PLACEHOLDER.sub(lambda found: values[found[1]], pattern))


def checked_address(url: str) -> str:
    """The address, if it is a web address that stands in any document as it is.

    Raises PublishError for other schemes ("javascript:", "file:") and for blanks or odd characters.
    """
    try:
        parts = urlsplit(url)
        good = parts.scheme in {"http", "https"} and bool(parts.hostname)
    except ValueError:
        good = False
    if not good or not _WEB_ADDRESS.fullmatch(url) or set(url) & set('"<>\\^`{|}'):
        raise PublishError(
            f"'{url}' is not a web address; write https://..., with blanks and quotes "
            "percent-encoded"
        )
    return url


def relative_address(path: PurePath) -> str:
    """A relative file path (`../walk #2.mp4`) as an address that a page can hold."""
    return quote(path.as_posix(), errors="replace")


def seconds(value: float) -> str:
    """Seconds with a dot and at most three decimals: "83.4"."""
    return f"{value:.3f}".rstrip("0").rstrip(".")
