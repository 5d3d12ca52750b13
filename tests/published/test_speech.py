"""Recorded human speech that nobody here made, through the whole main path.

`speech/` holds five phrases of a LibriVox reading of "Sense and Sensibility" (public domain), as
the test data of pocketsphinx 5.1.1 (BSD-2-Clause, Carnegie Mellon University) carry them, with the
transcripts given there. Whisper's authors report a word error rate of 5.0 % for the base model on
LibriSpeech test-clean, which is LibriVox readings as well (Radford et al. 2022, from memory); of so
few words, a tenth is within two standard deviations of that.
"""

import hashlib
from pathlib import Path

import av
import numpy as np
import pytest
from av.audio.frame import AudioFrame

from lexicon.load import load_lexicon
from pipeline.listen.media import RATE, read_audio
from pipeline.models import Record
from pipeline.score.hearing import heard
from pipeline.walkaround import Options, log_recording

SPEECH = Path(__file__).parent / "speech"
PAUSE_S = 1.0
LARGEST_RATE = 0.10

DIGESTS = {  # start of each recording's SHA-256, as published
    "0870": "b0557cf9",
    "0880": "fbec491e",
    "0890": "5793ffbd",
    "0920": "40882414",
    "0930": "954adbf0",
}
# The transcripts as published, but for "mister", which everybody writes Mr.
SAID = (
    "and mr john dashwood had then leisure to consider how much there might be prudently in his "
    "power to do for them he was not an ill disposed young man unless to be rather cold hearted "
    "and rather selfish is to be ill disposed had he married a more a amiable woman he might have "
    "been made still more respectable than he was he might even have been made amiable himself"
)


def clip(number: str) -> Path:
    return SPEECH / f"sense_and_sensibility_01_austen_64kb-{number}.wav"


@pytest.fixture(scope="module")
def reading(tmp_path_factory: pytest.TempPathFactory) -> Record:
    """The five phrases with a pause after each, logged as a walkaround would be."""
    pause = np.zeros(int(PAUSE_S * RATE), np.float32)
    sound = np.concatenate([part for n in DIGESTS for part in (read_audio(clip(n)).samples, pause)])
    path = tmp_path_factory.mktemp("speech") / "reading.wav"
    with av.open(str(path), "w") as container:
        track = container.add_stream("pcm_s16le", rate=RATE, layout="mono")
        frame = AudioFrame.from_ndarray((sound * 32767).astype(np.int16)[None], "s16", "mono")
        frame.rate = RATE
        container.mux(track.encode(frame))
        container.mux(track.encode())
    return log_recording(path, Options()).record


def test_the_recordings_are_the_published_ones() -> None:
    for number, digest in DIGESTS.items():
        assert hashlib.sha256(clip(number).read_bytes()).hexdigest().startswith(digest)


@pytest.mark.published("LibriVox speech (pocketsphinx 5.1.1); error rate: Radford et al. 2022")
def test_read_speech_is_heard_as_well_as_published(reading: Record) -> None:
    transcribed = " ".join(line.text for line in reading.lines)
    rate = heard(SAID, transcribed, load_lexicon("motorcycle")).words
    assert rate.total > 60
    assert (rate.ratio or 0.0) <= LARGEST_RATE, transcribed


@pytest.mark.published("LibriVox speech (pocketsphinx 5.1.1): a novel states no flaw of a machine")
def test_not_one_finding_from_a_novel(reading: Record) -> None:
    assert reading.findings == []
    assert reading.clean == []
    header = reading.vehicle
    assert (header.year, header.make, header.vin, header.odometer) == (None, None, None, None)
