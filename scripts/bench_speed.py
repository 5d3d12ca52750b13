"""How long logging one recording takes, against the recogniser's usual call and the floor.

    python scripts/bench_speed.py [RECORDING] [--rounds 3] [--threads 0]

The usual call is the recogniser library's sequential one with beam 5, word times and voice
activity detection. The floor is its encoder alone on every window that has a voice in it. All are
timed in the same run, with the weights loaded before; the last column is to the usual call.
"""

import argparse
import os
from pathlib import Path

from baseline import transcribe as usual_call
from baseline import usual_model
from benchmarking import best_of, show

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

DEFAULT = Path(__file__).parent.parent / "samples" / "pellam.mp4"


def encode_only(audio: Audio, model: SpeechModel) -> None:
    """Every window with a voice in it, encoded and no more."""
    for window in windows(find_voice(audio), audio.duration_s):
        features = model.whisper.feature_extractor(window.samples(audio))
        model.whisper.encode(features)


def main() -> None:
    """Prints the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("recording", type=Path, nargs="?", default=DEFAULT)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--threads", type=int, default=0, help="of the recogniser; 0: all")
    given = parser.parse_args()
    recording, options = given.recording, Options(listening=Listening(threads=given.threads))
    listeners = Listeners(options.listening)
    model = listeners.first
    threads = given.threads or os.cpu_count() or 1
    usual_model(threads)
    lexicon = load_lexicon("motorcycle")
    audio, info = read_media(recording)
    heard = transcribe(audio, model)
    first = to_transcript(heard, info.duration_s)
    spoken_of = lexicon_for(first, options)
    transcript = repair(first, spoken_of, hearing(model, audio, heard.windows))
    meant = understand(transcript)
    source = log_recording(recording, options, listeners=listeners).record.source
    settings = settings_of(lexicon, options.listening)

    times = best_of(
        given.rounds,
        {
            "usual call": lambda: usual_call(recording, threads),
            "log": lambda: log_recording(recording, options, listeners=listeners),
            "  media": lambda: read_media(recording),
            "  voice": lambda: find_voice(audio),
            "  recognition, voice in it": lambda: transcribe(audio, model),
            "  repair by the sound": lambda: repair(
                first, spoken_of, hearing(model, audio, heard.windows)
            ),
            "  understanding": lambda: understand(transcript),
            "  weighing": lambda: weigh(transcript, meant, lexicon, source, settings),
            "floor: encoder alone": lambda: encode_only(audio, model),
            "loading the weights": options.listening.load_first,
        },
    )
    usual = times["usual call"]
    show(
        f"{recording.name}, {audio.duration_s:.0f} s, best of {given.rounds}",
        ("seconds", "real-time factor", "to the usual call"),
        {name: (s, s / audio.duration_s, s / usual) for name, s in times.items()},
    )


if __name__ == "__main__":
    main()
