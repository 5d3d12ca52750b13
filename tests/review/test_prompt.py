"""pipeline/review/prompt.py: a whole conversation, from the keys pressed to the files written."""

import errno
import os
from collections.abc import Collection
from pathlib import Path
from typing import Any

import pytest
from rich.console import Console, RenderableType

from pipeline.errors import MediaError
from pipeline.models import Finding, Vehicle
from pipeline.record import read_record, write_record
from pipeline.review.actions import ACTIONS
from pipeline.review.journal import read_journal
from pipeline.review.prompt import Hear, See, Summary, review
from pipeline.review.terminal import ENTER, Suggest
from pipeline.review.wordbook import Wordbook, added_phrases, lexicon_path
from pipeline.times import Interval
from tests.review.records import (
    NOON,
    WORDS,
    FewWords,
    finding,
    flagged,
    line,
    reason,
    record,
)


class Script:
    """A reviewer whose keys and lines are known beforehand; the input ends with them.

    An entry of one character (or ENTER) is a key; keys that the talk does not offer are faults.
    """

    def __init__(self, *entries: str, plain: bool = False) -> None:
        self.plain = plain
        self.entries = list(entries)
        self.shown: list[str] = []

    def show(self, shown: RenderableType) -> None:
        console = Console(width=80)
        with console.capture() as capture:
            console.print(shown)
        self.shown.append(capture.get())

    def key(self, prompt: str, keys: Collection[str]) -> str:
        key = self._next(prompt)
        assert key == ENTER or key in keys, f"'{key}' is not offered"
        return key

    def line(self, prompt: str, suggest: Suggest | None = None) -> str:
        typed = self._next(prompt)
        if suggest:
            assert len(suggest(typed) if typed else []) <= 8  # type: ignore[arg-type]
        return typed

    def _next(self, prompt: str) -> str:
        self.shown.append(prompt)
        if not self.entries:
            raise EOFError
        entry = self.entries.pop(0)
        if entry == "^C":
            raise KeyboardInterrupt
        return entry


def reviewed(
    path: Path,
    *entries: str,
    plain: bool = False,
    words: Wordbook = WORDS,
    hear: Hear | None = None,
    see: See | None = None,
) -> tuple[Summary, str]:
    """What a review comes to and shows. The order of questions is F003, F002, L005, L006."""
    script = Script(*entries, plain=plain)
    summary = review(
        path,
        who="Ann",
        words=words,
        reason=reason,
        terminal=script,
        hear=hear,
        see=see,
        now=lambda: NOON,
    )
    assert script.entries == [], "the talk ended before the reviewer did"
    return summary, "\n".join(script.shown)


def saved(path: Path, key: str = "F003") -> Finding:
    """A finding as it is on disk."""
    return next(item for item in read_record(path).findings if item.id == key)


def kinds(path: Path) -> list[str]:
    """The decisions on disk."""
    return [e.decision.kind for e in read_journal(path.with_name("journal.jsonl")).entries]


@pytest.mark.parametrize("plain", [False, True])
def test_a_review_from_start_to_end(path: Path, plain: bool) -> None:
    summary, shown = reviewed(path, ENTER, "s", ENTER, "n", ENTER, plain=plain)
    assert summary == Summary(decided=4, left=0)
    assert kinds(path) == ["accept", "strike", "accept", "not_audible"]
    state = read_record(path)
    assert [item.status for item in state.findings] == ["clear", "struck", "confirmed"]
    assert [getattr(item, "reviewed", None) for item in state.lines[4:]] == [
        "no_finding", "not_audible",
    ]  # fmt: skip
    assert "4 left" in shown
    assert "Everything is settled." in shown


@pytest.mark.parametrize(
    ("entries", "fields"),
    [
        (["a"], {"status": "confirmed"}),
        (["s"], {"status": "struck"}),
        (["n"], {"status": "struck"}),
        (["p", "mirr", ENTER], {"part": "mirror", "status": "amended", "caution": None}),
        (["p", "grab rail", "y", ENTER], {"part": "other", "part_said": "grab rail"}),
        (["p", "tail lihgt", "y", ENTER], {"part": "other", "part_said": "tail lihgt"}),
        (["p", "tail lihgt", ENTER, ENTER], {"part": "tail_light"}),
        (["d", "crakked", ENTER, ENTER], {"defect": "crack", "status": "amended"}),
        (["p", "grab rail", ENTER, "q"], {"part": "brake_rotor", "status": "flagged"}),
        (["p", ENTER, "q"], {"part": "brake_rotor", "status": "flagged"}),
        (["d", "ding", ENTER], {"defect": "dent", "status": "amended"}),
        (["d", "zzz", ENTER, "q"], {"defect": "crack", "status": "flagged"}),
        (["g", "5", ENTER], {"severity": 5, "severity_basis": "spoken"}),
        (["g", "0", ENTER], {"severity": 0}),
        (["g", "-", ENTER], {"severity": None}),
        (["g", ENTER, "q"], {"severity": 3, "status": "flagged"}),
        (["w", "front left", ENTER], {"position": "front", "side": "left"}),
        (["w", "sideways", "q"], {"position": None, "status": "flagged"}),
        (["m", "2 in, 3", ENTER], {"size_mm": 50.8, "count": 3}),
        (["m", "many", "q"], {"count": None, "status": "flagged"}),
        (["t", "dent mirror", ENTER], {"part": "mirror", "defect": "dent", "status": "amended"}),
        (["t", "hm", "q"], {"status": "flagged"}),
        (["t", ENTER, "q"], {"status": "flagged"}),
        (["o", "q"], {"status": "flagged"}),
        (["r", "1"], {"status": "struck", "merged_into": "F002"}),
        (["r", ENTER, "q"], {"status": "flagged"}),
        (["/", "crack, rust", ENTER], {"defect": "crack", "status": "amended"}),
        (["/", "crack", "q"], {"status": "flagged"}),
        (["/", "crack, zzz", "q"], {"status": "flagged"}),
        (["/", ENTER, "q"], {"status": "flagged"}),
        (["k"], {"status": "flagged"}),
        (["?", "a"], {"status": "confirmed"}),
    ],
)
def test_what_the_keys_do_to_a_finding(
    path: Path, entries: list[str], fields: dict[str, Any]
) -> None:
    reviewed(path, *entries)
    after = saved(path).model_dump()
    assert {key: after.get(key) for key in fields} == fields


def test_several_flaws_become_several_findings(path: Path) -> None:
    reviewed(path, "/", "crack, rust")
    assert [(item.id, item.defect) for item in read_record(path).findings[2:]] == [
        ("F003", "crack"), ("F004", "rust"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("entries", "at_s"),
    [
        (["+", ENTER, "mirror", "dent"], 16),
        (["+", "0:11", "mirror", "dent"], 11),
        (["+", "soon"], None),
        (["+", "0:11", ENTER], None),
        (["+", "0:11", "mirror", ENTER], None),
    ],
)
def test_a_missed_flaw_is_added(path: Path, entries: list[str], at_s: float | None) -> None:
    reviewed(path, *entries)
    added = [item for item in read_record(path).findings if item.id == "F004"]
    assert [item.start_s for item in added] == ([] if at_s is None else [at_s])


def test_a_line_becomes_findings_that_can_be_amended_at_once(path: Path) -> None:
    summary, shown = reviewed(
        path, "a", "a", "t", "hm", "t", "dent mirror", "g", "2", ENTER, "a", ENTER
    )
    assert "No flaw is understood in that" in shown
    assert (saved(path, "F004").part, saved(path, "F004").severity) == ("mirror", 2)
    assert summary.left == 0


def test_other_readings_have_a_key_each(path: Path) -> None:
    readings = [
        {"text": "dent rotor", "part": "brake_rotor", "defect": "dent"},
        {"text": "crack mirror", "part": "mirror", "defect": "crack"},
    ]
    start = record(findings=[flagged(3, "brake_rotor", "crack", 4, readings=readings)], lines=[])
    taken = []
    for entries in (["1"], ["2"], ["o", "2"], ["o", ENTER, "q"]):
        write_record(start, path)
        for name in ("journal.jsonl", "findings.first.json"):
            path.with_name(name).unlink(missing_ok=True)
        reviewed(path, *entries)
        after = saved(path)
        taken.append((after.part, after.defect, after.read_as))
    assert taken == [
        ("brake_rotor", "dent", "dent rotor"),
        ("mirror", "crack", "crack mirror"),
        ("mirror", "crack", "crack mirror"),
        ("brake_rotor", "crack", "crack brake_rotor"),
    ]


def test_the_only_other_reading_needs_no_number(path: Path) -> None:
    readings = [{"text": "dent rotor", "part": "brake_rotor", "defect": "dent"}]
    write_record(record(findings=[flagged(3, "brake_rotor", "crack", 4, readings=readings)]), path)
    reviewed(path, "o")
    assert saved(path).defect == "dent"


def test_back_takes_the_last_decision_back_and_asks_again(path: Path) -> None:
    _, shown = reviewed(path, "s", "b", "a")
    assert kinds(path) == ["strike", "undo", "accept"]
    assert saved(path).status == "confirmed"
    assert "Taken back: 1. 2031-05-04 12:00 Ann: F003 strike" in shown


def test_back_after_a_skip_asks_what_was_skipped(path: Path) -> None:
    reviewed(path, "k", "b", "s")
    assert kinds(path) == ["strike"]
    assert saved(path).status == "struck"


def test_back_goes_through_earlier_sittings_to_the_very_start(path: Path) -> None:
    reviewed(path, "a", "t", "dent mirror", ENTER, "+", ENTER, "mirror", "rust", "q")
    _, shown = reviewed(path, "b", "b", "b", "b", "q")
    assert read_record(path) == record()
    assert "there is nothing to take back" in shown


def test_skipped_questions_come_again_when_asked_for(path: Path) -> None:
    summary, shown = reviewed(path, "k", "a", "k", "a", "k", "a", "a", ENTER)
    assert "2 skipped and still open." in shown
    assert summary == Summary(decided=4, left=0)


def test_the_end_can_be_left_backwards(path: Path) -> None:
    summary, _ = reviewed(path, "a", "a", "a", "a", "b", "n", ENTER)
    assert kinds(path)[-3:] == ["accept", "undo", "not_audible"]
    assert summary == Summary(decided=4, left=0)


@pytest.mark.parametrize("end", [[], ["^C"], ["q"], ["p"], ["p", "^C"]])
def test_stopping_anywhere_loses_nothing(path: Path, end: list[str]) -> None:
    summary, _ = reviewed(path, "s", *end)
    assert summary == Summary(decided=1, left=3)
    assert saved(path).status == "struck"
    assert reviewed(path, "s", "a", "a", ENTER)[0].left == 0


def test_every_decision_is_saved_before_the_next_question(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[list[str]] = []
    ask = Script.key

    def look_first(self: Script, prompt: str, keys: Collection[str]) -> str:
        journal = path.with_name("journal.jsonl")
        seen.append(kinds(path) if journal.exists() else [])
        assert [item.status for item in read_record(path).findings].count("flagged") == max(
            0, 2 - len(seen[-1])
        )
        return ask(self, prompt, keys)

    monkeypatch.setattr(Script, "key", look_first)
    reviewed(path, "a", "s", "a", "n", ENTER)
    assert [len(made) for made in seen] == [0, 1, 2, 3, 4]


def test_a_decision_that_cannot_be_saved_is_told_and_asked_again(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    reviewed(path, "a", "q")
    sync = os.fsync

    def fail_once(_handle: int) -> None:
        monkeypatch.setattr(os, "fsync", sync)
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", fail_once)
    summary, shown = reviewed(path, "s", "s", "q")
    assert "the decision cannot be saved: No space left" in " ".join(shown.split())
    assert summary.decided == 1
    assert kinds(path) == ["accept", "strike"]


def test_a_repeat_is_sought_among_the_same_part_first(path: Path) -> None:
    findings = [
        finding(1, "mirror", "crack", 1),
        finding(2, "fuel_tank", "dent", 3),
        finding(4, "mirror", "rust", 3, status="struck"),
        flagged(3, "mirror", "crack", 4),
    ]
    write_record(record(findings=findings), path)
    _, shown = reviewed(path, "r", "1")
    assert saved(path).model_dump()["merged_into"] == "F001"
    assert "  1  Mirror: crack at 0:01" in shown
    assert "  3  " not in shown


def test_a_cut_off_journal_is_told(path: Path) -> None:
    reviewed(path, "a", "q")
    journal = path.with_name("journal.jsonl")
    journal.write_bytes(journal.read_bytes() + b'{"number": 2')
    _, shown = reviewed(path, "q")
    assert "its last answer was lost" in shown
    reviewed(path, "a", "q")
    assert kinds(path) == ["accept", "accept"]


def test_how_much_there_is_to_settle_is_told_first(path: Path) -> None:
    _, shown = reviewed(path, "q")
    told = "4 to settle: 2 findings, 2 lines that may hide a flaw, what matters most first."
    assert " ".join(shown.split()).startswith(told)


def test_a_findings_words_as_heard_are_a_reading(path: Path) -> None:
    asked = flagged(3, "mirror", "dent", 4, heard="rust mirror", read_as="dent mirror")
    write_record(record(findings=[asked], lines=[]), path)
    _, shown = reviewed(path, "1")
    assert 'or Mirror: rust, from "rust mirror"' in shown
    assert (saved(path).defect, saved(path).read_as) == ("rust", "rust mirror")


def test_a_line_leads_to_the_findings_in_it(path: Path) -> None:
    found = [finding(1, "mirror", "dent", 5), finding(2, "mirror", "rust", 5)]
    write_record(record(findings=found), path)
    _, shown = reviewed(path, "2", "s", ENTER, ENTER)
    assert "Does the line speak of another flaw?" in shown
    assert [saved(path, key).status for key in ("F001", "F002")] == ["clear", "struck"]


def test_a_findings_question_from_a_line_leads_back_to_it(path: Path) -> None:
    write_record(record(findings=[finding(1, "mirror", "dent", 5)]), path)
    reviewed(path, "1", ENTER, "?", ENTER, ENTER, ENTER)
    assert kinds(path) == ["accept", "accept"]


def test_what_the_line_has_already_is_not_found_twice(path: Path) -> None:
    write_record(record(findings=[finding(1, "mirror", "dent", 5)]), path)
    reviewed(path, "t", "dent mirror, rust mirror", ENTER, "q")
    found = read_record(path).findings
    assert sorted((item.part, item.defect) for item in found) == [
        ("mirror", "dent"), ("mirror", "rust"),
    ]  # fmt: skip


def test_a_flaw_can_be_added_at_the_end(path: Path) -> None:
    write_record(record(findings=[]), path)
    reviewed(path, ENTER, ENTER, "+", "0:11", "mirror", "dent", ENTER, ENTER)
    assert [item.start_s for item in read_record(path).findings] == [11]


def of_a_user() -> Wordbook:
    """Few words, and a file for more."""
    return FewWords(lexicon_path())


@pytest.mark.parametrize(
    ("entries", "decisions", "phrases"),
    [
        (["e", "love mark", "dent"], ["explain"], [("love mark", "dent")]),
        (["e", ENTER], [], []),
        (["e", "love mark", ENTER], [], []),
        (["e", "love mark", "zzzz"], [], []),
        (["e", "gas tank", "mirror"], [], []),
        (["p", "zzzz", "e", "mirror"], ["amend", "explain"], [("zzzz", "mirror")]),
        (["p", "zzzz", "e", ENTER], [], []),
        (["p", "tail lihgt", "e", "mirror"], ["amend", "explain"], [("tail lihgt", "mirror")]),
        (["d", "zzzz", "e", "rust"], ["amend", "explain"], [("zzzz", "rust")]),
        (["d", "zzzz", "e", ENTER], [], []),
        (
            ["+", ENTER, "zzzz", "e", "mirror", "yyyy", "e", "rust"],
            ["add", "explain", "explain"],
            [("zzzz", "mirror"), ("yyyy", "rust")],
        ),
    ],
)
def test_a_word_is_explained_there_and_then(
    path: Path, entries: list[str], decisions: list[str], phrases: list[tuple[str, str]]
) -> None:
    summary, shown = reviewed(path, *entries, "q", words=of_a_user())
    journal = path.with_name("journal.jsonl")
    assert (kinds(path) if journal.exists() else []) == decisions
    assert added_phrases(lexicon_path()) == phrases
    assert summary.decided == len(decisions)
    for phrase, names in phrases:
        assert f"'{phrase}' is kept as a word for {names}." in shown


def test_a_word_that_cannot_be_kept_is_told(path: Path) -> None:
    _, shown = reviewed(path, "e", "gas tank", "mirror", "q", words=of_a_user())
    assert "'gas tank' already stands for the part 'fuel_tank'" in shown


def test_back_takes_an_explained_word_back_and_then_what_was_named(path: Path) -> None:
    reviewed(path, "p", "zzzz", "e", "mirror", "b", "b", "q", words=of_a_user())
    assert kinds(path) == ["amend", "explain", "undo", "undo"]
    assert read_record(path) == record()
    assert added_phrases(lexicon_path()) == []


def test_a_wrong_kind_is_corrected(path: Path) -> None:
    talk = Vehicle(kind="snowmobile", kind_basis="talk")
    write_record(record(vehicle=talk), path)
    _, shown = reviewed(path, "c", ENTER, "c", "1", "q")
    assert "Taken for a snowmobile, as the talk tells; c corrects that." in " ".join(shown.split())
    assert "The talk is understood anew; what is settled stays as it is." in shown
    assert "Findings: 0 new, 0 gone, 0 changed; what is settled stays." in shown
    assert kinds(path) == ["reclassify"]
    assert read_record(path).vehicle.kind == "motorcycle"
    _, shown = reviewed(path, "b", "q")
    assert "Taken for" not in shown
    assert read_record(path).vehicle == talk


def test_the_kind_can_be_corrected_at_the_end(path: Path) -> None:
    write_record(record(findings=[]), path)
    reviewed(path, ENTER, ENTER, "c", "3", ENTER, ENTER)
    assert read_record(path).vehicle.kind == "snowmobile"


def test_the_phrase_or_the_whole_line_is_heard(path: Path) -> None:
    heard: list[tuple[Interval, float]] = []

    def hear(interval: Interval, speed: float) -> Path | None:
        heard.append((interval, speed))
        return Path("clips/a.wav") if len(heard) == 2 else None

    _, shown = reviewed(path, "h", "H", "l", "?", "q", hear=hear)
    phrase, whole = Interval(start_s=16, end_s=18), Interval(start_s=15, end_s=20)
    assert heard == [(phrase, 1), (whole, 1), (phrase, 0.7)]
    assert "Playing." in shown
    assert "There is no sound device; the clip is clips/a.wav" in shown
    assert "  H     hear the whole line" in shown


def test_a_recording_that_cannot_be_heard_is_told(path: Path) -> None:
    def hear(_interval: Interval, _speed: float) -> Path | None:
        raise MediaError("walk.mp4 cannot be read")

    summary, shown = reviewed(path, "h", "s", "q", hear=hear)
    assert "walk.mp4 cannot be read" in shown
    assert summary.decided == 1


def test_the_picture_of_a_finding_is_opened_or_its_file_named(path: Path) -> None:
    seen: list[float] = []

    def see(at_s: float) -> Path | None:
        seen.append(at_s)
        if len(seen) == 3:
            raise MediaError("walk.mp4 shows nothing")
        return Path("clips/17.0.jpg") if len(seen) == 2 else None

    _, shown = reviewed(path, "v", "v", "v", "?", "q", see=see)
    assert seen == [17, 17, 17]
    for told in ("Opened.", "no display; the picture is clips/17.0.jpg", "shows nothing", "  v  "):
        assert told in shown


def test_the_keys_fit_eighty_columns(path: Path) -> None:
    _, shown = reviewed(path, "s", "s", "q", hear=lambda _interval, _speed: None)
    legends = [row for row in shown.splitlines() if row.startswith("Enter ")]
    assert len(legends) == 3
    assert all(len(legend) < 79 and "h hear" in legend for legend in legends)


def test_a_record_with_nothing_open_says_so(path: Path) -> None:
    write_record(record(findings=[], lines=[]), path)
    summary, shown = reviewed(path, ENTER)
    assert summary == Summary(decided=0, left=0)
    assert "Everything is settled." in shown


def test_help_names_every_key(path: Path) -> None:
    _, shown = reviewed(path, "?", "q")
    for key in [*ACTIONS, "b", "k", "q", "?"]:
        assert f"\n  {key or 'Enter'} " in shown


def test_common_answers_take_three_keys_or_fewer(path: Path) -> None:
    """One question for each common answer; keys are counted with those typed into lines."""
    answers = {
        "right": [ENTER],
        "nothing of the kind": ["s"],
        "another reading": ["1"],
        "another grade": ["g", "2", ENTER],
        "another side": ["w", "r", ENTER],
        "not audible": ["n"],
        "no flaw in the line": [ENTER],
    }
    reading = {"text": "dent mirror", "part": "mirror", "defect": "dent"}
    findings = [flagged(n, "saddlebag", "crack", n, readings=[reading]) for n in range(1, 7)]
    lines = [line(n, "a crack in the settle bag") for n in range(1, 7)]
    lines.append(line(7, "the mirth", status="doubtful"))
    write_record(record(findings=findings, lines=lines), path)
    summary, _ = reviewed(path, *(entry for keys in answers.values() for entry in keys), ENTER)
    assert summary == Summary(decided=7, left=0)
    typed = {"another side": 1}  # Enter after the "r" typed into a line
    counts = sorted(len(keys) + typed.get(name, 0) for name, keys in answers.items())
    assert counts[len(counts) // 2] <= 3
    assert sum(counts) == 12
