"""pipeline/score/differences.py: every difference is told once, in time order."""

from pipeline.models import CleanPart, Mention
from pipeline.score.differences import differences
from tests.score.narration import perfect_record, truth, with_finding, with_more, without_finding

TRUTH = truth()
PERFECT = perfect_record()
FENDER = PERFECT.findings[0]


def test_a_perfect_record_has_none() -> None:
    assert differences(TRUTH, PERFECT) == []


def test_each_sort_is_told_with_its_place_and_words() -> None:
    record = with_finding(PERFECT, 1, severity=4, side="left")
    record = with_finding(record, 5, mentions=[Mention(start_s=40.0, end_s=41.0, heard="again")])
    record = with_more(record, FENDER.model_copy(update={"id": "F9", "defect": "dent"}))
    record = without_finding(record, 2)
    clean = CleanPart(part="hood", side="right", start_s=50.0, end_s=51.0)
    record = record.model_copy(update={"clean": [clean]})
    told = [(each.sort, each.about) for each in differences(TRUTH, record)]
    phrase = "front fender has three light scratches, two inches long"
    assert told == [
        ("differs", f"front fender scratch: side left for None, severity 4 for 2 in '{phrase}'"),
        ("wrong", f"front fender dent in '{phrase}'"),
        ("missed", "left mirror crack in 'left mirror is cracked'"),
        ("missed clean", "seat in 'No dents in the seat'"),
        ("missed mention", "left mirror crack in 'left mirror again'"),
        ("wrong mention", "fuel_tank repaint in 'again'"),
        ("wrong clean", "right hood"),
    ]


def test_a_difference_is_written_with_its_time() -> None:
    (only,) = differences(TRUTH, without_finding(PERFECT, 3))
    assert str(only) == "0:14 missed: right mirror crack in 'right mirror is cracked'"
