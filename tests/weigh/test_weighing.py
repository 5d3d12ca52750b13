"""What was meant in, a record with confidence and flags out."""

from lexicon.load import load_lexicon
from pipeline.models import Record, Settings, Source, Transcript
from pipeline.understand.reading import understand
from pipeline.weigh.flags import IN_NOISE, NOISY_DB
from pipeline.weigh.weighing import weigh
from tests.weigh.said import transcript

LEXICON = load_lexicon("motorcycle")
SETTINGS = Settings(program_version="1", lexicon="motorcycle", lexicon_version="1")


def weighed(said: Transcript, above_noise_db: float | None = None, **how: float) -> Record:
    source = Source(
        file_name="a.mp4", sha256="0" * 64, duration_s=said.duration_s, has_video=False,
        transcript_origin=said.origin, above_noise_db=above_noise_db,
    )  # fmt: skip
    return weigh(said, understand(said, "motorcycle"), LEXICON, source, SETTINGS, **how)


def test_findings_come_in_the_order_of_the_talk_with_their_evidence() -> None:
    record = weighed(transcript("The front fender is scratched.", "The seat has a tear."))
    assert [(f.id, f.part, f.defect) for f in record.findings] == [
        ("F001", "fender", "scratch"),
        ("F002", "seat", "tear"),
    ]
    assert all(0 < f.confidence < 1 and f.evidence["hard"] == 0.1 for f in record.findings)
    assert record.findings[0].line_id == "L001"


def test_words_hardly_heard_are_less_sure_and_flagged() -> None:
    (sure,) = weighed(transcript("The front fender is melted.")).findings
    (doubted,) = weighed(transcript("The front? fender? is? melted?")).findings
    assert doubted.confidence < sure.confidence
    assert (doubted.status, "unsure_words" in doubted.flags) == ("flagged", True)


def test_a_flaw_hardly_ever_told_of_its_part_is_flagged_as_such() -> None:
    (rare,) = weighed(transcript("The front fender is worn through.")).findings
    assert rare.flags == ["rare_flaw"]


def test_the_price_of_a_glance_decides_and_stands_in_the_settings() -> None:
    said = transcript("The front? fender? is? scratched?", "So we came here.")
    free, dear = weighed(said, glance_cost=0.0), weighed(said, glance_cost=1.0)
    assert [f.status for f in free.findings] == ["flagged"]
    assert [f.status for f in dear.findings] == ["clear"]
    assert [line.status for line in dear.lines] == ["heard", "heard"]
    assert dear.settings.thresholds["glance_cost"] == 1.0


def test_in_a_noisy_recording_an_error_is_worth_more() -> None:
    said = transcript("The front fender is scratched.", "The seat? has a tear.")
    doubt = 1 - weighed(said).findings[1].confidence
    between = doubt * (1 + IN_NOISE) / 2  # a glance pays in noise, elsewhere not
    quiet, noisy, unknown = (
        weighed(said, above_noise_db, glance_cost=between).findings[1].status
        for above_noise_db in (NOISY_DB + 1, NOISY_DB - 1, None)
    )
    assert (quiet, noisy, unknown) == ("clear", "flagged", "clear")


def test_nothing_is_found_in_a_line_that_was_not_heard() -> None:
    said = transcript("The front fender is scratched.")
    line = said.lines[0].model_copy(update={"status": "unheard", "words": [], "text": ""})
    record = weighed(said.model_copy(update={"lines": [line]}))
    assert record.findings == []
    assert (record.lines[0].status, record.lines[0].confidence) == ("unheard", None)


def test_a_line_that_tells_a_flaw_again_hides_none() -> None:
    said = transcript("The seat has a tear.", "So there.", "Again, that tear in the seat.")
    record = weighed(said)
    assert [len(finding.mentions) for finding in record.findings] == [1]
    assert "stray_flaw" not in record.lines[2].evidence
    assert record.lines[2].evidence["stated"] == 1.0
