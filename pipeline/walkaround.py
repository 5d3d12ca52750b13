"""The main path: one recording in, one record out, written beside it.

log_recording    media ─► lines ─► meaning ─► weighed record
log_transcript   captions that already exist, from there on the same
save             findings.json and transcript.vtt, never over a reviewer's work
"""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from itertools import chain, islice
from pathlib import Path

from lexicon.load import FileText, Lexicon, load_lexicon
from pipeline import __version__
from pipeline.errors import RecordError
from pipeline.listen.captions import read_captions
from pipeline.listen.hear import to_transcript
from pipeline.listen.listeners import Listeners, Listening
from pipeline.listen.media import digest, probe, read_media
from pipeline.listen.noise import above_noise_db
from pipeline.listen.recogniser import transcribe
from pipeline.listen.voice import voice_as_found
from pipeline.models import REVIEWED, Kind, Record, Settings, Source, Transcript
from pipeline.publish.captions import captions
from pipeline.record import FILE_NAME, read_record, write_atomically, write_record
from pipeline.review.journal import Files
from pipeline.understand.reading import decide_kind, understand
from pipeline.weigh.again import BUDGET_SHARE, listen_again
from pipeline.weigh.flags import GLANCE_COST
from pipeline.weigh.hearing import Judge, hearing
from pipeline.weigh.lessons import Taught, digest_of, recall
from pipeline.weigh.repair import repair
from pipeline.weigh.weighing import weigh

# Told of each step: its name, how much is done, and how much there is (0 where unknown).
Report = Callable[[str, float, float], None]

_FOUND_WHILE_LOADING = 100  # stretches with a voice, some minutes of talk


@dataclass(frozen=True)
class Options:
    """How to listen and read. `kind` None lets the talk decide; `learned`: see weigh.lessons.

    `lexicon` is a shop's own words, added to ours; `glance_cost`: see weigh.weighing.
    """

    kind: Kind | None = None
    lexicon: FileText | None = None
    learned: tuple[Taught, ...] = ()
    glance_cost: float = GLANCE_COST
    listening: Listening = field(default_factory=Listening)

    def on_threads(self, threads: int) -> "Options":
        """The same on so many threads."""
        return replace(self, listening=replace(self.listening, threads=threads))


def silent(step: str, done: float, total: float) -> None:
    """A report for callers that show nothing."""


@dataclass(frozen=True)
class Logged:
    """A record, and plain lines about what of the recording could not be read."""

    record: Record
    notices: tuple[str, ...] = ()


def log_recording(
    recording: Path,
    options: Options,
    report: Report = silent,
    listeners: Listeners | None = None,
) -> Logged:
    """The record of a narrated recording; `listeners` spare the loading of what they have loaded.

    Raises MediaError, WeightsError or LexiconError.
    """
    lexicon = load_lexicon(options.kind or "motorcycle", options.lexicon)
    listeners = listeners or Listeners(options.listening)
    with ThreadPoolExecutor(1) as beside:
        loading = beside.submit(lambda: listeners.first)
        audio, info = read_media(recording, _step(report, "decoding the media"))
        voiced = voice_as_found(audio)
        first_voiced = list(islice(voiced, _FOUND_WHILE_LOADING))
        report("loading the weights", 0, 1)
        first = loading.result()
        report("loading the weights", 1, 1)
    hotwords = lexicon.hotwords if options.listening.is_untaught else ()
    heard = transcribe(
        audio, first, hotwords, _step(report, "transcribing"), chain(first_voiced, voiced)
    )
    transcript = to_transcript(heard, info.duration_s)
    transcript = listen_again(
        transcript,
        audio,
        lambda: listeners.second,
        lexicon_for(transcript, options),
        BUDGET_SHARE * info.duration_s,
        _step(report, "listening again"),
    )
    source = Source(
        file_name=recording.name,
        sha256=info.sha256,
        duration_s=round(info.duration_s, 3),
        has_video=info.has_video,
        recorded_at=info.recorded_at,
        transcript_origin="recogniser",
        above_noise_db=above_noise_db(audio),
    )
    judge = hearing(first, audio, heard.windows)
    record = record_of(transcript, source, options, options.listening, judge)
    return Logged(record, info.notices)


def _step(report: Report, name: str) -> Callable[[float], None]:
    """A progress of one step, as a share from 0 to 1."""
    return lambda share: report(name, share, 1)


def log_transcript(
    transcript_file: Path, recording: Path | None, options: Options, report: Report = silent
) -> Logged:
    """The record of captions that already exist, with the recording they belong to if at hand.

    Raises TranscriptError, MediaError or LexiconError.
    """
    transcript = read_captions(transcript_file)
    report("reading", 1, 1)
    if recording is None:
        name, sha256, has_video, recorded_at = (
            transcript_file.name,
            digest(transcript_file),
            False,
            None,
        )
        duration_s = transcript.duration_s
    else:
        info = probe(recording)
        name, sha256, has_video, recorded_at = (
            recording.name,
            info.sha256,
            info.has_video,
            info.recorded_at,
        )
        duration_s = max(info.duration_s, transcript.duration_s)
    source = Source(
        file_name=name,
        sha256=sha256,
        duration_s=round(duration_s, 3),
        has_recording=recording is not None,
        has_video=has_video,
        recorded_at=recorded_at,
        transcript_origin=transcript.origin,
    )
    return Logged(record_of(transcript, source, options))


def record_of(
    transcript: Transcript,
    source: Source,
    options: Options,
    listening: Listening | None = None,
    judge: Judge | None = None,
) -> Record:
    """What lines mean, once what was misheard in them is read as the trade's words.

    `judge` knows the sound of the lines, `listening` who heard them; None of captions.
    """
    transcript = recall(transcript, options.learned, judge)
    transcript = repair(transcript, lexicon_for(transcript, options), judge, options.lexicon)
    understanding = understand(transcript, options.kind, options.lexicon)
    lexicon = load_lexicon(understanding.vehicle.kind, options.lexicon)
    settings = settings_of(lexicon, listening, options.learned)
    return weigh(
        transcript,
        understanding,
        lexicon,
        source,
        settings,
        glance_cost=options.glance_cost,
    )


def lexicon_for(transcript: Transcript, options: Options) -> Lexicon:
    """The words of the kind of machine that is spoken of, as heard so far."""
    kind = options.kind or decide_kind(" ".join(line.text for line in transcript.lines))
    return load_lexicon(kind or "motorcycle", options.lexicon)


def settings_of(
    lexicon: Lexicon, listening: Listening | None, learned: Sequence[Taught] = ()
) -> Settings:
    """What a record says was run; two records of one recording with equal settings are equal.

    `listening` is None where nothing was listened to.
    """
    return Settings(
        program_version=__version__,
        lexicon=lexicon.kind,
        lexicon_version=lexicon.version,
        shop_lexicon=lexicon.shop,
        speech_model=listening and listening.first_name,
        second_model=listening and listening.second_name,
        listen_again_share=BUDGET_SHARE if listening and listening.second_name else None,
        learned=digest_of(learned),
    )


# --- writing ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Saved:
    """Where a record went; `kept` is an earlier folder with a reviewer's work, left as it was."""

    folder: Path
    kept: Path | None


def default_folder(of: Path) -> Path:
    """The folder beside a recording or caption file that its findings go to."""
    return of.with_suffix(".walkaround")


def save(record: Record, folder: Path) -> Saved:
    """Writes findings.json and transcript.vtt into a folder, which is made if need be.

    Findings that a reviewer has touched are never replaced: the record then goes to a new folder
    beside ("clip.walkaround-2"). Raises RecordError where the folder cannot be written.
    """
    kept = None
    free = folder
    number = 2
    while _is_reviewed(free):
        kept = free
        free = folder.with_name(f"{folder.name}-{number}")
        number += 1
    if free.is_symlink():
        raise RecordError(f"{free}: is a link; name the folder that it points to with --out")
    try:
        free.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise RecordError(
            f"{free}: cannot be made: {error.strerror}; choose a folder with --out"
        ) from error
    write_atomically(free / "transcript.vtt", captions(record.lines).encode("utf-8"))
    write_record(record, free / FILE_NAME)
    return Saved(free, kept)


def _is_reviewed(folder: Path) -> bool:
    findings = folder / FILE_NAME
    if not findings.exists():
        return False
    if Files.beside(findings).journal.exists():
        return True
    return any(finding.status in REVIEWED for finding in read_record(findings).findings)
