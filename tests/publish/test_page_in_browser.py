"""The published page in a real browser: opened from disk, used by mouse and by keyboard alone."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python import sync_playwright as axe
from playwright import sync_api

from pipeline.publish.folder import publish
from pipeline.record import write_record
from tests.publish.conftest import finding, nasty_record

CHROMIUM = shutil.which("chromium") or shutil.which("google-chrome")
pytestmark = pytest.mark.skipif(
    CHROMIUM is None and "CI" not in os.environ, reason="no Chromium on this machine"
)

QUIET = [
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PHONE = {"width": 360, "height": 740}


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """A headless Chromium."""
    with sync_api.sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        yield running
        running.close()


@pytest.fixture(scope="module")
def published(tmp_path_factory: pytest.TempPathFactory, video: Path) -> Path:
    """The nasty record's page, unreviewed findings included, beside its recording."""
    folder = tmp_path_factory.mktemp("walk")
    (folder / video.name).write_bytes(video.read_bytes())
    record = nasty_record(video)
    record.findings.append(
        finding(
            id="F009", part="headlight", position="front", defect="hazing", start_s=18, end_s=19
        )
    )
    write_record(record, folder / "findings.json")
    return publish(folder, include_unconfirmed=True).page


@pytest.fixture
def page(browser: Any, published: Path) -> Iterator[Any]:
    """The page, opened from disk; anything that goes wrong in it fails the test."""
    yield from opened(browser, published.as_uri())


def opened(browser: Any, address: str, **options: Any) -> Iterator[Any]:
    context = browser.new_context(permissions=["clipboard-read", "clipboard-write"], **options)
    tab = context.new_page()
    troubles: list[str] = []
    asked: list[str] = []
    tab.on("pageerror", lambda error: troubles.append(str(error)))
    tab.on("console", lambda message: troubles.append(message.text))
    tab.on("request", lambda request: asked.append(request.url))
    tab.goto(address)
    until(tab, "player.readyState >= 1")
    yield tab
    assert troubles == []
    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []
    context.close()


def until(tab: Any, condition: str) -> None:
    """Waits for a condition; the browser's own waiting needs `eval`, which the page forbids."""
    for _ in range(200):
        if tab.evaluate(condition):
            return
        tab.wait_for_timeout(50)
    raise AssertionError(f"never came true: {condition}")


def time_of(tab: Any) -> float:
    until(tab, "!player.seeking")
    return float(tab.evaluate("player.currentTime"))


def copied(tab: Any, what: str) -> str:
    """What lies on the clipboard once the page has said so."""
    until(tab, f"told.textContent === '{what} copied'")
    return str(tab.evaluate("navigator.clipboard.readText()"))


def shown(tab: Any) -> list[str]:
    return list(
        tab.evaluate("[...document.querySelectorAll('#list > li:not([hidden])')].map(r => r.id)")
    )


def test_every_row_seeks_the_video_to_its_link(page: Any) -> None:
    rows = page.locator("#list > li")
    for row in rows.all():
        row.locator(".pick").click()
        link = row.get_attribute("data-link") or ""
        start_s = float(link.split("#t=")[1].split(",")[0])
        assert time_of(page) == pytest.approx(start_s, abs=0.1)
        assert row.get_attribute("aria-current") == "true"
        assert page.url.endswith(f"#{row.get_attribute('id')}")
    assert page.locator("[aria-current]").count() == 1


def test_the_strip_seeks_too(page: Any) -> None:
    page.locator("#strip .mark[data-flaw=F004] .reach").click()
    assert time_of(page) == pytest.approx(31.5, abs=0.1)
    page.locator("#strip").click(position={"x": 1, "y": 100})
    assert time_of(page) == pytest.approx(0.0, abs=0.5)


def test_a_phrase_plays_and_stops_at_its_end(page: Any) -> None:
    page.evaluate("document.getElementById('player').playbackRate = 8")
    page.locator("#F001 .play").click()
    until(page, "player.paused && player.currentTime >= 11.25")
    assert time_of(page) < 16.0


@pytest.mark.parametrize(
    ("fragment", "start_s"), [("F004", 31.5), ("t=20.5,22", 20.5), ("t=npt:7", 7.0), ("F999", 0.0)]
)
def test_a_link_into_the_page_leads_to_the_moment(
    browser: Any, published: Path, fragment: str, start_s: float
) -> None:
    for tab in opened(browser, f"{published.as_uri()}#{fragment}"):
        assert time_of(tab) == pytest.approx(start_s, abs=0.1)


def test_what_was_not_heard_can_be_listened_to(page: Any) -> None:
    link = page.get_by_role("link", name="not made out, 0:26-0:30")
    for _ in range(2):
        page.evaluate("player.currentTime = 0")
        link.click()
        until(page, "Math.abs(player.currentTime - 26) < 0.1")  # a link is followed a moment later
    page.get_by_role("link", name="said at 0:02 of the windshield").click()
    until(page, "Math.abs(player.currentTime - 2) < 0.1")


def test_the_recording_carries_captions_and_chapters(page: Any) -> None:
    counts = page.evaluate(
        """async () => {
            const tracks = [...document.getElementById('player').textTracks];
            for (const track of tracks) if (track.mode === 'disabled') track.mode = 'hidden';
            for (let i = 0; i < 100 && tracks.some(t => !t.cues?.length); i++) {
                await new Promise(done => setTimeout(done, 50));
            }
            return tracks.map(track => [track.kind, track.mode, track.cues.length]);
        }"""
    )
    assert counts == [["captions", "showing", 6], ["chapters", "hidden", 4]]


@pytest.mark.parametrize(
    ("choice", "expected"),
    [
        ({"part": "mirror"}, ["F002"]),
        ({"side": "left"}, ["F001", "F002", "F006"]),
        ({"side": "none"}, ["F009", "F003", "F005", "F008"]),
        ({"grade": "4"}, ["F001", "F004", "F008"]),
        ({"group": "history"}, ["F005"]),
        ({"side": "left", "grade": "5"}, []),
    ],
)
def test_filters(page: Any, choice: dict[str, str], expected: list[str]) -> None:
    for name, value in choice.items():
        page.select_option(f"select[name={name}]", value)
    assert shown(page) == [
        id_ for id_ in [f"F00{n}" for n in (1, 2, 9, 3, 4, 5, 6, 8)] if id_ in expected
    ]
    assert page.locator("#none").is_visible() is (not expected)
    assert page.locator("#count").text_content() == f"{len(expected)} of 8"
    page.get_by_role("button", name="Show all").click()
    until(page, "document.getElementById('count').textContent === '8'")
    assert len(shown(page)) == 8


def test_links_sentences_and_all_that_is_shown_can_be_copied(page: Any, published: Path) -> None:
    page.locator("#F001 .copy-link").click()
    link = copied(page, "Link")
    recording = published.parent.parent / nasty_record().source.file_name
    assert link == f"{recording.as_uri()}#t=6.4,11.25"
    page.locator("#F002 .copy-sentence").click()
    assert copied(page, "Sentence") == "Scratch on both mirrors"
    page.select_option("select[name=grade]", "5")
    page.locator("#copy-all").click()
    assert copied(page, "1 flaw").startswith(
        "Severe crack on the right front brake rotor. [0:31] file:///"
    )
    page.locator(".text summary").first.click()
    page.locator(".copy-text").first.click()
    assert copied(page, "Text") == (published.parent / "listing.txt").read_text("utf-8")
    page.evaluate("told.textContent = ''")
    page.get_by_role("button", name="Copy chapters.txt").click()
    assert copied(page, "Text") == (published.parent / "chapters.txt").read_text("utf-8")


def test_everything_works_by_keyboard(page: Any) -> None:
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Go to the flaws"
    page.keyboard.press("Enter")
    for _ in ("four filters", "", "", "", "show all", "copy all", "still", "sentence"):
        page.keyboard.press("Tab")
    page.keyboard.press("ArrowDown")
    assert page.evaluate("document.activeElement.closest('li').id") == "F002"
    page.keyboard.press("Enter")
    assert time_of(page) == pytest.approx(12.0, abs=0.1)
    page.keyboard.press("s")
    assert copied(page, "Sentence") == "Scratch on both mirrors"
    page.keyboard.press("c")
    assert copied(page, "Link").endswith("#t=12,16")
    page.keyboard.press("p")
    until(page, "!player.paused")


def test_the_strip_is_one_stop_for_the_keyboard(page: Any) -> None:
    page.locator("#strip .mark[tabindex='0']").focus()
    for _ in range(2):
        page.keyboard.press("ArrowRight")
    assert page.evaluate("document.activeElement.dataset.flaw") == "F009"
    page.keyboard.press("Enter")
    assert time_of(page) == pytest.approx(16.0, abs=0.1)
    assert page.locator("#strip .mark[tabindex='0']").count() == 1


def test_a_still_is_enlarged_and_put_away_by_keyboard(page: Any) -> None:
    page.locator("#F001 .still").focus()
    page.keyboard.press("Enter")
    assert page.locator("#enlarged img").is_visible()
    page.keyboard.press("Escape")
    assert not page.locator("#enlarged img").is_visible()
    assert page.evaluate("document.activeElement.className") == "still"


@pytest.mark.parametrize(
    ("scheme", "viewport"), [("light", PHONE), ("dark", {"width": 1280, "height": 900})]
)
def test_no_serious_fault_of_accessibility(
    browser: Any, published: Path, scheme: str, viewport: dict[str, int]
) -> None:
    options = {"color_scheme": scheme, "viewport": viewport, "bypass_csp": True}
    for tab in opened(browser, published.as_uri(), **options):
        tab.locator("#F004 .pick").click()
        for summary in tab.locator("summary").all():
            summary.click()
        found = axe.Axe().run(tab).response["violations"]
        serious = [fault for fault in found if fault["impact"] in {"serious", "critical"}]
        assert [(fault["id"], fault["nodes"][0]["html"][:200]) for fault in serious] == []


def test_a_phone_needs_no_sideways_scrolling_and_keeps_the_video_in_sight(
    browser: Any, published: Path
) -> None:
    for tab in opened(browser, published.as_uri(), viewport=PHONE):
        tab.locator("#F008 .pick").click()
        assert tab.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
        box = tab.locator("#player").bounding_box()
        row = tab.locator("#F008 .pick").bounding_box()
        assert box["y"] >= -1
        assert row["y"] >= box["y"] + box["height"] - 1


def test_it_prints_the_list_with_its_links(page: Any) -> None:
    page.emulate_media(media="print")
    assert not page.locator("#player").is_visible()
    assert not page.locator("#filters").is_visible()
    assert page.locator("#F001 .still img").is_visible()
    printed = page.evaluate(
        "getComputedStyle(document.querySelector('#F001 .open'), '::after').content"
    )
    assert printed.endswith('#t=6.4,11.25"')
    assert page.pdf().startswith(b"%PDF-")


def test_without_scripts_the_page_still_reads(browser: Any, published: Path) -> None:
    context = browser.new_context(java_script_enabled=False)
    tab = context.new_page()
    tab.goto(published.as_uri())
    assert tab.locator("#list > li").count() == 8
    assert (tab.locator("#F001 .open").get_attribute("href") or "").endswith("#t=6.4,11.25")
    context.close()
