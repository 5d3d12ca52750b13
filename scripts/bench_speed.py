"""How long logging recordings takes, against the recogniser's usual call and the floor.

    python scripts/bench_speed.py [RECORDING ...] [--rounds 3] [--threads 0]

The usual call is the recogniser library's sequential one with beam 5, word times and voice
activity detection. The floor is its encoder alone on every window that has a voice in it. All are
timed in the same run, with the weights loaded before; the last column is to the usual call.
"""

import os
from collections import Counter
from pathlib import Path

from baseline import transcribe as usual_call
from baseline import usual_model
from benchmarking import arguments, best_of, show

from lexicon.load import load_lexicon
from pipeline.listen.hear import to_transcript
from pipeline.listen.listeners import Listeners, Listening
from pipeline.listen.media import read_media
from pipeline.listen.recogniser import transcribe
from pipeline.listen.voice import find_voice, windows
from pipeline.listen.weights import SpeechModel
from pipeline.models import Audio
from pipeline.understand.reading import understand
from pipeline.walkaround import Options, lexicon_for, log_recording, settings_of
from pipeline.weigh.hearing import hearing
from pipeline.weigh.repair import repair
from pipeline.weigh.weighing import weigh

SAMPLES = Path(__file__).parent.parent / "samples"
STAGES = (
    "usual call", "log", "  media", "  voice", "  recognition, voice in it",
    "  repair by the sound", "  understanding", "  weighing", "floor: encoder alone",
)  # fmt: skip


def encode_only(audio: Audio, model: SpeechModel) -> None:
    """Every window with a voice in it, encoded and no more."""
    for window in windows(find_voice(audio), audio.duration_s):
        features = model.whisper.feature_extractor(window.samples(audio))
        most = model.whisper.feature_extractor.nb_max_frames
        model.whisper.encode(features[..., :most])


def stage_times(recording: Path, listeners: Listeners, threads: int, rounds: int) -> Counter[str]:
    """Seconds that each stage takes with one recording, by its name; "sound" is its length."""
    options = Options(listening=listeners.listening)
    model = listeners.first
    lexicon = load_lexicon("motorcycle")
    audio, info = read_media(recording)
    heard = transcribe(audio, model)
    first = to_transcript(heard, info.duration_s)
    spoken_of = lexicon_for(first, options)
    transcript = repair(first, spoken_of, hearing(model, audio, heard.windows))
    meant = understand(transcript)
    source = log_recording(recording, options, listeners=listeners).record.source
    settings = settings_of(lexicon, options.listening)
    calls = (
        lambda: usual_call(recording, threads),
        lambda: log_recording(recording, options, listeners=listeners),
        lambda: read_media(recording),
        lambda: find_voice(audio),
        lambda: transcribe(audio, model),
        lambda: repair(first, spoken_of, hearing(model, audio, heard.windows)),
        lambda: understand(transcript),
        lambda: weigh(transcript, meant, lexicon, source, settings),
        lambda: encode_only(audio, model),
    )
    times = best_of(rounds, dict(zip(STAGES, calls, strict=True)))
    return Counter({**times, "sound": audio.duration_s})


def main() -> None:
    """Prints the table."""
    parser = arguments(__doc__)
    parser.add_argument("recordings", type=Path, nargs="*", help="the samples, if none")
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--threads", type=int, default=0, help="of the recogniser; 0: all")
    given = parser.parse_args()
    recordings = given.recordings or sorted(
        path for path in SAMPLES.iterdir() if path.suffix in (".mp4", ".m4a")
    )
    threads = given.threads or os.cpu_count() or 1
    listeners = Listeners(Listening(threads=threads))
    usual_model(threads)
    totals: Counter[str] = Counter()
    for recording in recordings:
        totals += stage_times(recording, listeners, threads, given.rounds)
    sound_s, usual_s = totals.pop("sound"), totals["usual call"]
    show(
        f"{len(recordings)} recordings, {sound_s:.0f} s, best of {given.rounds}",
        ("seconds", "real-time factor", "to the usual call"),
        {name: (s, s / sound_s, s / usual_s) for name, s in totals.items()},
        given.plot,
    )


if __name__ == "__main__":
    main()
