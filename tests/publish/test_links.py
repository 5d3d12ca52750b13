from pathlib import PurePosixPath

import pytest

from pipeline.errors import PublishError
from pipeline.publish.links import (
    Linker,
    checked_address,
    from_pattern,
    media_fragment,
    relative_address,
)
from pipeline.times import Interval


def moment(start_s: float, end_s: float) -> Interval:
    return Interval(start_s=start_s, end_s=end_s)


@pytest.mark.published
@pytest.mark.parametrize(
    ("start_s", "end_s", "fragment"),
    [
        # W3C Media Fragments URI 1.0 and its test cases; `t=3,3` is invalid there.
        (10, 20, "t=10,20"),
        (3, 7, "t=3,7"),
        (3, 3, "t=3"),
        (83.4, 91.25, "t=83.4,91.25"),
        (0, 7, "t=0,7"),
        (1.0004, 1.00049, "t=1"),
        (1e-7, 2.00000001, "t=0,2"),
    ],
)
def test_media_fragments(start_s: float, end_s: float, fragment: str) -> None:
    assert media_fragment(moment(start_s, end_s)) == fragment


@pytest.mark.parametrize(
    ("phrase", "expected"),
    [
        (moment(83.4, 91.25), moment(81.4, 91.25)),
        (moment(1.0, 3.0), moment(0.0, 3.0)),
        (moment(99.0, 104.0), moment(97.0, 100.0)),
        (moment(104.0, 105.0), moment(100.0, 100.0)),
    ],
)
def test_a_link_leads_in_and_stays_in_the_recording(phrase: Interval, expected: Interval) -> None:
    linker = Linker(media="v.mp4", pattern=None, lead_in_s=2.0, duration_s=100.0)
    assert linker.moment(phrase) == expected


@pytest.mark.parametrize(
    ("media", "pattern", "url"),
    [
        ("walk.mp4", None, "walk.mp4#t=81.4,91.25"),
        ("https://shop.example/v#u=12", None, "https://shop.example/v#u=12&t=81.4,91.25"),
        (None, None, None),
        (
            "walk.mp4",
            "https://host.example/v?id=1&t={start_s}&end={end_s}",
            "https://host.example/v?id=1&t=81.4&end=91.25",
        ),
        (
            None,
            "https://host.example/{start_whole_s}-{end_whole_s}",
            "https://host.example/81-92",
        ),
    ],
)
def test_links(media: str | None, pattern: str | None, url: str | None) -> None:
    linker = Linker(media=media, pattern=pattern, lead_in_s=2.0, duration_s=100.0)
    assert linker.url(moment(83.4, 91.25)) == url


@pytest.mark.parametrize(
    "pattern",
    [
        "https://host.example/v",
        "https://host.example/v?t={start}",
        "https://host.example/v?t={start_s.__class__}",
        "https://host.example/v?t={start_s}&x={}",
        "https://host.example/v?t={start_s}&x={",
        "javascript:alert({start_s})",
        "host.example/v?t={start_s}",
    ],
)
def test_a_wrong_pattern_is_refused(pattern: str) -> None:
    with pytest.raises(PublishError, match=r"link pattern|web address"):
        from_pattern(pattern, moment(1, 2))


@pytest.mark.parametrize(
    "url",
    [
        "javascript:alert(1)",
        "file:///etc/passwd",
        "//host.example/v",
        "https://",
        "https://host.example/a b",
        'https://host.example/"onerror=',
        "https://host.example/\u202e",
        "https://[bad/",
    ],
)
def test_only_web_addresses_are_taken(url: str) -> None:
    with pytest.raises(PublishError, match="is not a web address"):
        checked_address(url)


def test_a_file_name_becomes_an_address() -> None:
    path = PurePosixPath("../walk #1 100%?.mp4")
    assert relative_address(path) == "../walk%20%231%20100%25%3F.mp4"
