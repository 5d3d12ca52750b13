"""pipeline/score/timing.py: when things are said, and the transcript that hears them all."""

import pytest

from pipeline.errors import TruthError
from pipeline.score.timing import WORD_S, at_steady_pace, exact_transcript, noise, timed, when
from pipeline.score.truth import Say, Truth
from tests.score.narration import flaw, truth


def narration(*says: Say) -> Truth:
    """A truth of some sentences."""
    return Truth(id="x", kind="motorcycle", split="fit", say=list(says))


def test_a_steady_speaker_takes_as_long_over_every_word() -> None:
    paced = at_steady_pace(
        narration(
            Say(text="One two.", pause_s=1.0),
            Say(noise_s=3.0, pause_s=0.5),
            Say(
                text="A scratch, here.", findings=[flaw("hood", "scratch", "scratch")], noise_s=2.0
            ),
        )
    )
    last = paced.say[2]
    spoken = [*map(when, paced.say), *map(when, last.findings)]
    assert [each.start_s for each in spoken] == pytest.approx([0.0, 1.6, 7.1, 7.4])
    assert [each.end_s for each in spoken] == pytest.approx([0.6, 4.6, 8.0, 7.7])
    assert paced.duration_s == pytest.approx(8.5)
    assert [stretch.start_s for stretch in noise(paced)] == pytest.approx([1.6, 5.1])
    assert [stretch.end_s for stretch in noise(paced)] == pytest.approx([4.6, 7.1])


def test_a_time_that_is_known_stays() -> None:
    known = flaw("hood", "scratch", "scratch", start_s=1.5, end_s=1.9)
    say = Say(text="A scratch.", findings=[known], start_s=1.0, end_s=2.0)
    assert timed(narration(say)).say[0].findings == [known]


def test_a_sentence_without_times_is_refused() -> None:
    with pytest.raises(TruthError, match="no times"):
        timed(narration(Say(text="Hello.")))


def test_an_exact_transcript_has_every_word_at_its_time() -> None:
    paced = truth()
    spoken = [say for say in paced.say if say.text]
    transcript = exact_transcript(paced)
    assert [line.text for line in transcript.lines] == [say.text for say in spoken]
    assert [line.interval for line in transcript.lines] == [when(say) for say in spoken]
    for line in transcript.lines:
        assert [word.text for word in line.words] == line.text.split()
        assert line.words[0].start_s == line.start_s
        assert line.words[-1].end_s == pytest.approx(line.end_s)
        assert all(word.end_s - word.start_s == pytest.approx(WORD_S) for word in line.words)
