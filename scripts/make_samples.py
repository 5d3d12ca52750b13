"""Makes the recordings in samples/ anew from their truth files (*.toml there).

    python scripts/make_samples.py

Needs the synthesisers: `pip install wearword[render]` and Debian's flite.
"""

import hashlib
from dataclasses import dataclass
from pathlib import Path

from pydantic import TypeAdapter
from rendering.conditions import recorded
from rendering.encode import write_film, write_sound
from rendering.film import Shown, pictures, shots, shown
from rendering.recital import recite, shifted
from rendering.voices import voice_named

from pipeline.score.truth import Truth, read_truth
from pipeline.times import webvtt_time

ROOT = Path(__file__).resolve().parents[1]
SAMPLES = ROOT / "samples"
CACHE = ROOT / "rendered" / "sentences"
CAPTION_CHARACTERS = 64


@dataclass(frozen=True)
class Sample:
    """How one truth file becomes a recording; no size, no picture."""

    name: str
    voice: str
    rate: float
    condition: str
    size: tuple[int, int] | None = None
    sound_start_s: float = 0.0


MADE = (
    Sample("pellam", "joe", 1.0, "clean", (640, 360)),
    Sample("brackwater", "heart", 1.0, "room", (360, 640), sound_start_s=0.84),
    Sample("calder", "slt", 1.0, "shop15"),
)
CAPTIONED = "pellam"


def main() -> None:
    """Makes every sample, the captions and the list of digests."""
    for sample in MADE:
        truth = make(sample)
        print(f"{sample.name}: {truth.duration_s:.1f} s, {sample.voice}, {sample.condition}")
        if sample.name == CAPTIONED:
            (SAMPLES / f"{sample.name}.vtt").write_text(captions(truth), "utf-8")
    (SAMPLES / "digests.txt").write_text(digests(), "utf-8")


def make(sample: Sample) -> Truth:
    """Writes the recording, its truth with times, and what is shown when; returns the truth."""
    recital = recite(
        read_truth(SAMPLES / f"{sample.name}.toml"), voice_named(sample.voice), sample.rate, CACHE
    )
    sound = recorded(recital.speech, sample.condition, seed=len(sample.name))
    truth = shifted(recital.truth, sample.sound_start_s)
    truth = truth.model_copy(update={"condition": sample.condition})
    if sample.size is None:
        write_sound(SAMPLES / f"{sample.name}.m4a", sound)
    else:
        plan = shots(truth)
        frames = pictures(plan, sample.size, truth.duration_s or 0.0)
        path = SAMPLES / f"{sample.name}.mp4"
        write_film(path, frames, sample.size, sound, sample.sound_start_s)
        listed = TypeAdapter(list[Shown]).dump_json(shown(plan, sample.size), indent=1)
        (SAMPLES / f"{sample.name}.shown.json").write_bytes(listed + b"\n")
    text = truth.model_dump_json(indent=1, exclude_none=True)
    (SAMPLES / f"{sample.name}.json").write_text(text + "\n", "utf-8")
    return truth


def captions(truth: Truth) -> str:
    """WebVTT of what is said; a long sentence is cut in two cues, its time shared by characters."""
    cues = []
    for say in truth.say:
        if not say.text or say.start_s is None or say.end_s is None:
            continue
        pace_s = (say.end_s - say.start_s) / len(say.text)
        cut = len(say.text)
        if cut > CAPTION_CHARACTERS:
            cut = say.text.rfind(" ", 0, cut // 2 + 8)
        for first, last in ((0, cut), (cut + 1, len(say.text))):
            if first < last:
                start, end = say.start_s + first * pace_s, say.start_s + last * pace_s
                times = f"{webvtt_time(start)} --> {webvtt_time(end)}"
                cues.append(f"{times}\n{say.text[first:last]}\n")
    return "\n".join(["WEBVTT\n", *cues])


def digests() -> str:
    """One line a committed file, as `sha256sum` writes it."""
    kept = sorted(p for p in SAMPLES.iterdir() if p.suffix in {".mp4", ".m4a", ".vtt", ".json"})
    return "".join(f"{hashlib.sha256(p.read_bytes()).hexdigest()}  {p.name}\n" for p in kept)


if __name__ == "__main__":
    main()
