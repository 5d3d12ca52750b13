"""The main path on real speech, whole: recording to page, with a review answered by a script."""

import json
from itertools import pairwise
from pathlib import Path

import pytest

from pipeline.models import Line, Record, Transcript, Word
from pipeline.publish.folder import publish
from pipeline.record import read_record, write_record
from pipeline.review.sitting import apply_decisions_file, list_questions
from pipeline.review.wordbook import Wordbook
from pipeline.score.scoring import score
from pipeline.score.truth import read_truth
from pipeline.walkaround import Options, lexicon_for, log_transcript, save
from pipeline.weigh.flags import reason
from tests.conftest import SAMPLES


def test_the_clean_sample_is_understood(logged: tuple[Path, Record]) -> None:
    _, record = logged
    flaws = score(read_truth(SAMPLES / "pellam.json"), record).findings
    assert flaws.recall is not None
    assert flaws.precision is not None
    assert flaws.recall >= 0.8
    assert flaws.precision >= 0.9


def test_words_are_in_order_and_inside_the_recording(logged: tuple[Path, Record]) -> None:
    _, record = logged
    words = [word for line in record.lines for word in line.words]
    assert words
    assert all(a.end_s <= b.start_s + 1e-6 for a, b in pairwise(words))
    assert all(0 <= w.start_s < w.end_s <= record.source.duration_s + 0.1 for w in words)


def test_recording_to_page_with_a_scripted_review(
    logged: tuple[Path, Record], tmp_path: Path
) -> None:
    _, record = logged
    copy = tmp_path / "pellam.walkaround"
    copy.mkdir()
    (tmp_path / "pellam.mp4").write_bytes((SAMPLES / "pellam.mp4").read_bytes())
    # One finding is flagged by hand, so that there is something to settle whatever was heard.
    flagged = record.model_copy(deep=True)
    flagged.findings[0].flags, flagged.findings[0].status = ["unsure_words"], "flagged"
    write_record(flagged, copy / "findings.json")
    questions = list_questions(copy, reason)
    assert flagged.findings[0].id in [question["target"] for question in questions]
    decisions = tmp_path / "decisions.jsonl"
    decisions.write_text(
        "".join(
            json.dumps({"kind": "accept", "target": question["target"]}) + "\n"
            for question in questions
        )
    )
    apply_decisions_file(
        copy,
        decisions,
        who="a script",
        words=Wordbook(),
    )
    settled = read_record(copy)
    assert settled.findings[0].status == "confirmed"
    assert list_questions(copy, reason) == []

    published = publish(copy)
    page = published.page.read_text(encoding="utf-8")
    for finding in settled.findings:
        assert finding.id in page
    stills = json.loads((published.folder / "stills.json").read_text())
    assert len(stills) > 0


def test_captions_are_read_without_listening(tmp_path: Path) -> None:
    record = log_transcript(SAMPLES / "pellam.vtt", SAMPLES / "pellam.mp4", Options()).record
    assert record.source.transcript_origin == "webvtt"
    flaws = score(read_truth(SAMPLES / "pellam.json"), record).findings
    assert flaws.recall is not None
    assert flaws.recall >= 0.9
    assert save(record, tmp_path / "out").folder == tmp_path / "out"


def test_a_reviewed_record_is_never_written_over(
    logged: tuple[Path, Record], tmp_path: Path
) -> None:
    _, record = logged
    first = save(record, tmp_path / "clip.walkaround")
    again = save(record, tmp_path / "clip.walkaround")
    assert again.folder == first.folder
    assert again.kept is None
    reviewed = record.model_copy(deep=True)
    reviewed.findings[0].status = "confirmed"
    write_record(reviewed, first.folder / "findings.json")
    third = save(record, tmp_path / "clip.walkaround")
    assert third.kept == first.folder
    assert third.folder.name == "clip.walkaround-2"
    assert read_record(first.folder).findings[0].status == "confirmed"


@pytest.mark.parametrize("name", ["pellam", "brackwater"])
def test_samples_have_pictures(name: str) -> None:
    from pipeline.listen.media import probe

    assert probe(SAMPLES / f"{name}.mp4").has_video


def test_words_are_those_of_the_kind_spoken_of() -> None:
    words = [Word(text=word, start_s=0.0, end_s=1.0) for word in "this snowmobile has skis".split()]
    line = Line(id="L001", start_s=0.0, end_s=1.0, text="this snowmobile has skis", words=words)
    said = Transcript(origin="recogniser", lines=[line], duration_s=1.0)
    assert lexicon_for(said, Options()).kind == "snowmobile"
    assert lexicon_for(said, Options(kind="watercraft")).kind == "watercraft"
