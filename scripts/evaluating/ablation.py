"""Ours with one idea left out, in the same table: what each idea buys, and what it costs."""

from functools import lru_cache
from pathlib import Path

from evaluating.cases import Case
from lexicon.load import load_lexicon
from pipeline.listen.hear import to_transcript
from pipeline.listen.listeners import Listeners, Listening
from pipeline.listen.media import MediaInfo, read_media
from pipeline.listen.noise import above_noise_db
from pipeline.listen.recogniser import Heard, transcribe
from pipeline.models import Audio, Record, Source
from pipeline.understand.reading import understand
from pipeline.walkaround import Options, lexicon_for, settings_of
from pipeline.weigh.hearing import hearing
from pipeline.weigh.repair import repair
from pipeline.weigh.weighing import weigh

PARTS = ("adapter", "repair", "judge")


def without(part: str, case: Case, threads: int) -> Record:
    """As `log_recording`, less one part. Sound decoded alike is decoded once."""
    assert case.file is not None
    listening = Listening(
        adapter="none" if part == "adapter" else None, device="cpu", threads=threads
    )
    listeners = _listeners(listening)
    audio, info, heard = _heard(case.file, listening)
    transcript = to_transcript(heard, info.duration_s)
    options = Options(listening=listening)
    lexicon = lexicon_for(transcript, options)
    if part != "repair":
        judge = None if part == "judge" else hearing(listeners.first, audio, heard.windows)
        transcript = repair(transcript, lexicon, judge)
    meant = understand(transcript)
    lexicon = load_lexicon(meant.vehicle.kind)
    source = Source(
        file_name=case.name,
        sha256=info.sha256,
        duration_s=info.duration_s,
        has_video=info.has_video,
        transcript_origin="recogniser",
        above_noise_db=above_noise_db(audio),
    )
    return weigh(transcript, meant, lexicon, source, settings_of(lexicon, listening))


@lru_cache(maxsize=3)
def _heard(file: Path, listening: Listening) -> tuple[Audio, MediaInfo, Heard]:
    audio, info = read_media(file)
    words = load_lexicon("motorcycle").hotwords if listening.is_untaught else ()
    return audio, info, transcribe(audio, _listeners(listening).first, words)


@lru_cache
def _listeners(listening: Listening) -> Listeners:
    return Listeners(listening)
