"""A record made by hand, with words in it that would do harm where they are not escaped."""

import hashlib
from collections.abc import Callable
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

import av
import numpy as np
import pytest
from av.audio.frame import AudioFrame
from av.video.frame import VideoFrame
from numpy.typing import NDArray

from lexicon.load import load_lexicon
from pipeline.models import (
    CleanPart,
    Finding,
    Line,
    Mention,
    Odometer,
    Record,
    Settings,
    Source,
    Vehicle,
)
from pipeline.publish.handover import Handover, prepare
from pipeline.publish.links import Linker
from pipeline.record import write_record

DURATION_S = 60.0

NASTY = "</script><img src=x onerror=alert(1)> --> \x1b[31mred\x1b[0m \u202egnp\u202c =A1"


def finding(**fields: object) -> Finding:
    """A finding with the fields that matter to a test."""
    defaults: dict[str, object] = {
        "id": "F001",
        "part": "saddlebag",
        "defect": "scratch",
        "severity": 3,
        "start_s": 10.0,
        "end_s": 12.0,
        "heard": "a scratch",
        "read_as": "a scratch",
        "confidence": 0.9,
    }
    return Finding.model_validate(defaults | fields)


def nasty_record(recording: Path | None = None) -> Record:
    """Every side, grade basis and status; nasty words wherever a recording can put them."""
    digest = hashlib.sha256(recording.read_bytes()).hexdigest() if recording else "0" * 64
    return Record(
        source=Source(
            file_name="walk #1 'round.mp4",
            sha256=digest,
            duration_s=DURATION_S,
            has_video=True,
            recorded_at=datetime(2025, 5, 3, 9, 30, tzinfo=UTC),
            transcript_origin="recogniser",
        ),
        vehicle=Vehicle(
            kind="motorcycle",
            year=2016,
            make="Fenwick",
            model=f"Marlin {NASTY}",
            stock_number="@SUM(A1)",
            vin="1M8GDM9AXKP042788",
            vin_valid=True,
            odometer=Odometer(value=12400, unit="mi"),
        ),
        findings=[
            finding(
                id="F001",
                part="saddlebag",
                side="left",
                defect="scuff",
                severity=4,
                severity_basis="spoken",
                count=3,
                size_mm=50.8,
                detail="near the seam",
                start_s=8.4,
                end_s=11.25,
                mentions=[Mention(start_s=50.0, end_s=51.0, heard="that scuff")],
            ),
            finding(id="F002", part="mirror", side="both", start_s=14.0, end_s=16.0),
            finding(
                id="F003",
                part="other",
                part_said=f"=cmd|' /C calc'!A0 {NASTY}",
                defect="dent",
                detail="- [x](javascript:alert(1)) `code` # *b*",
                heard=NASTY,
                read_as=f"dent {NASTY}",
                start_s=22.0,
                end_s=24.0,
                status="confirmed",
            ),
            finding(
                id="F004",
                part="brake_rotor",
                position="front",
                side="right",
                side_basis="inferred",
                defect="crack",
                severity=5,
                severity_basis="spoken",
                start_s=33.5,
                end_s=36.0,
                caution="A cracked brake rotor can break.",
                status="amended",
            ),
            finding(
                id="F005",
                part="fuel_tank",
                defect="repaint",
                severity=None,
                start_s=40.0,
                end_s=42.0,
            ),
            finding(
                id="F006",
                part="fork",
                side="left",
                defect="leak",
                start_s=45.0,
                end_s=46.0,
                status="flagged",
                flags=["low_confidence"],
                confidence=0.4,
            ),
            finding(id="F007", part="seat", defect="tear", start_s=47, end_s=48, status="struck"),
            finding(
                id="F008",
                part="exhaust",
                defect="rust",
                severity=4,
                severity_basis="area",
                area_pct=8,
                start_s=58.8,
                end_s=59.9,
            ),
        ],
        clean=[
            CleanPart(part="fuel_tank", start_s=38.0, end_s=39.0),
            CleanPart(part="windshield", start_s=4.0, end_s=5.0),
            CleanPart(part="fork", side="left", start_s=44.0, end_s=45.0),
        ],
        unmentioned=["battery", "drive_chain"],
        lines=[
            Line(id="L001", start_s=1.0, end_s=5.0, text="Windshield is clean"),
            Line(id="L002", start_s=8.0, end_s=12.0, text=f"Three heavy scuffs {NASTY}"),
            Line(id="L003", start_s=26.0, end_s=28.0, text="", status="unheard"),
            Line(id="L004", start_s=28.5, end_s=30.0, text="thanks", status="unheard"),
            Line(id="L005", start_s=52.0, end_s=54.0, text="bent rest", status="doubtful"),
            Line(id="L006", start_s=54.0, end_s=54.0, text="zero length & more"),
        ],
        settings=Settings(program_version="0.1.0", lexicon="motorcycle", lexicon_version="1"),
    )


@pytest.fixture
def record() -> Record:
    """The nasty record."""
    return nasty_record()


@pytest.fixture
def handover_of() -> Callable[..., Handover]:
    """Makes a handover of a record; keywords replace the usual options."""

    def make(record: Record, **options: object) -> Handover:
        lexicon = load_lexicon(record.vehicle.kind)
        linker = Linker(
            media=options.pop("media", "https://shop.example/walk.mp4"),  # type: ignore[arg-type]
            pattern=options.pop("pattern", None),  # type: ignore[arg-type]
            lead_in_s=2.0,
            duration_s=record.source.duration_s,
        )
        usual: dict[str, object] = {"units": "in", "include_unconfirmed": False}
        return prepare(
            record,
            parts=lexicon.parts,
            defects=lexicon.defects,
            linker=linker,
            **(usual | options),  # type: ignore[arg-type]
        )

    return make


@cache
def checkers(*, sharp: bool) -> NDArray[np.float64]:
    """A checkerboard of greys, or one that is smeared sideways."""
    rows, columns = np.mgrid[0:108, 0:192]
    checks = ((rows // 6 + columns // 6) % 2 * 160.0) + 40
    if sharp:
        return checks
    return np.apply_along_axis(np.convolve, 1, checks, np.ones(19) / 19, "same")


def picture(number: int, rate: int) -> NDArray[np.uint8]:
    """Frame `number`: a patch of checks on grey, sharp at half past each second, else smeared."""
    checks = checkers(sharp=number % rate == rate // 2).copy()
    checks[:20, :20] = 40 + (number // rate) % 8 * 25
    return np.repeat(checks.astype(np.uint8)[..., None], 3, axis=2)


def write_video(path: Path, *, seconds: float = DURATION_S, rate: int = 4, scale: int = 1) -> None:
    """A small H.264 video with a tone; of each second only the frame at .5 is sharp."""
    with av.open(str(path), "w") as container:
        video = container.add_stream("libx264", rate=rate)
        video.width, video.height, video.pix_fmt = 192 * scale, 108 * scale, "yuv420p"
        video.options = {"preset": "ultrafast", "g": "8"}
        audio = container.add_stream("aac", rate=16_000, layout="mono")
        for number in range(int(seconds * rate)):
            frame = VideoFrame.from_ndarray(
                picture(number, rate).repeat(scale, 0).repeat(scale, 1), format="rgb24"
            )
            frame.pts = number
            container.mux(video.encode(frame))
        container.mux(video.encode())
        tone = (0.1 * np.sin(np.arange(int(seconds * 16_000)) / 5)).astype(np.float32)
        for start in range(0, len(tone), 1024):
            chunk = AudioFrame.from_ndarray(tone[None, start : start + 1024], "fltp", "mono")
            chunk.rate, chunk.pts = 16_000, start
            container.mux(audio.encode(chunk))
        container.mux(audio.encode())


@pytest.fixture(scope="session")
def video(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The recording of the nasty record."""
    path = tmp_path_factory.mktemp("recording") / nasty_record().source.file_name
    write_video(path)
    return path


@pytest.fixture
def logged(tmp_path: Path, video: Path) -> Path:
    """The findings file of the nasty record with its recording beside it."""
    (tmp_path / video.name).write_bytes(video.read_bytes())
    path = tmp_path / "findings.json"
    write_record(nasty_record(video), path)
    return path
