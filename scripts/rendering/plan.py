"""Which narration is recorded by which voice, how fast, and in which condition."""

import hashlib
from dataclasses import dataclass

import numpy as np

from rendering.conditions import NOISY, QUIET
from rendering.voices import RATES, Voice, voices_of

SPLITS = ("fit", "weigh", "check", "final")
PASSES = 2  # recordings of a narration: one quiet, one noisy
SEED = 1


@dataclass(frozen=True)
class Rendering:
    """One recording to make of a narration."""

    narration: str
    voice: Voice
    rate: float
    condition: str

    @property
    def name(self) -> str:
        """Name of the recording and of its truth, without suffix; no two of a plan share one."""
        return f"{self.narration}.{self.condition}"

    @property
    def seed(self) -> int:
        """Seed of the noises: the recording's own, whatever else is rendered."""
        key = f"{self.name}.{self.voice.name}.{self.rate}"
        return int.from_bytes(hashlib.sha256(key.encode()).digest()[:4], "big")


def plan(split: str, narrations: list[str], seed: int = SEED) -> list[Rendering]:
    """Every recording of a split; voices, rates and conditions come up as evenly as they can.

    The passes over one narration differ in voice and in condition.
    """
    voices = voices_of(split)
    turns = len(voices) * len(RATES)
    order = np.random.default_rng(seed).permutation(sorted(narrations))
    return [
        Rendering(
            narration=str(narration),
            voice=voices[(turn := (place + number) % turns) % len(voices)],
            rate=RATES[(turn // len(voices) + turn % len(voices)) % len(RATES)],
            condition=_condition(place, number, turns),
        )
        for place, narration in enumerate(order)
        for number in range(PASSES)
    ]


def _condition(place: int, number: int, turns: int) -> str:
    """Quiet first, changing step with each round of voices; then a noisy one."""
    if number == 0:
        return QUIET[(place + place // turns) % len(QUIET)]
    return NOISY[place % len(NOISY)]
