"""A drawn motorcycle as data: the shapes of its parts in five views.

Canvas units, x to the right and y down, 1280 by 720. Shapes are listed from back to front. The
left view is the right view mirrored, less what only one side has. Sides are the rider's: in the
front view the left is at the right of the picture.
"""

from dataclasses import dataclass, replace
from typing import Literal

from pipeline.models import Position, Side

WIDTH, HEIGHT = 1280, 720

Form = Literal["area", "line", "ring", "oval"]
Points = tuple[tuple[int, int], ...]


@dataclass(frozen=True)
class Shape:
    """One shape of a part. `ring` is (centre, (outer radius, inner radius)); `line` has a width."""

    part: str
    form: Form
    points: Points
    shade: int  # grey level of the unmarked part, 0 to 255
    width: int = 0
    position: Position | None = None
    side: Side | None = None


def _shape(
    part: str,
    form: Form,
    path: str,
    shade: int,
    *,
    width: int = 0,
    position: Position | None = None,
    side: Side | None = None,
) -> Shape:
    """A shape whose points are written "x,y x,y"; a ring's are its centre and its two radii."""
    numbers = [int(number) for number in path.replace(",", " ").split()]
    points = tuple(zip(numbers[::2], numbers[1::2], strict=True))
    return Shape(part, form, points, shade, width, position, side)


def _wheel(x: int, y: int, position: Position) -> tuple[Shape, ...]:
    spokes = tuple(
        Shape("wheel", "line", ((x + dx, y + dy), (x - dx, y - dy)), 150, 8, position)
        for dx, dy in ((0, 84), (73, 42), (73, -42))
    )
    return (
        Shape("tire", "ring", ((x, y), (132, 100)), 45, position=position),
        Shape("rim", "ring", ((x, y), (100, 82)), 165, position=position),
        *spokes,
        Shape("brake_rotor", "ring", ((x, y), (60, 40)), 190, position=position),
        Shape("wheel", "ring", ((x, y), (26, 0)), 130, position=position),
    )


_SIDE = (
    *_wheel(330, 520, "rear"),
    *_wheel(950, 520, "front"),
    _shape("swingarm", "line", "330,522 590,500", 120, width=26),
    _shape("drive_chain", "line", "330,500 590,470", 70, width=12),
    _shape("frame", "line", "850,250 640,350 480,350 590,500", 90, width=16),
    _shape("radiator", "area", "782,350 812,356 796,486 768,480", 110),
    _shape("engine", "area", "560,372 742,360 765,470 740,548 560,548", 140),
    _shape("skid_plate", "area", "560,550 770,550 800,490 815,500 780,578 570,574", 100),
    _shape("fork", "line", "950,520 862,236", 175, width=20),
    _shape("fork_seal", "line", "912,398 903,368", 60, width=32),
    _shape(
        "fender",
        "area",
        "812,470 850,408 910,374 972,374 1020,394 1010,410 968,396 914,396 866,424 828,478",
        120,
        position="front",
    ),
    _shape(
        "fender",
        "area",
        "190,500 200,430 252,384 330,366 420,380 470,420 "
        "452,432 404,398 330,386 266,402 218,442 208,500",
        120,
        position="rear",
    ),
    _shape("saddlebag", "area", "232,336 430,340 440,436 404,462 262,462 232,430", 105),
    _shape("side_cover", "area", "462,352 566,352 556,440 490,430", 155),
    _shape("passenger_seat", "area", "280,300 392,282 420,300 420,334 290,332", 60),
    _shape("seat", "area", "420,302 480,322 600,300 626,322 600,348 420,342", 50),
    _shape("fuel_tank", "area", "600,300 632,258 720,236 800,250 826,292 780,346 620,346", 170),
    _shape("fairing", "area", "802,236 880,224 924,268 916,330 858,378 812,340", 145),
    _shape("windshield", "area", "806,232 790,120 812,112 884,222", 215),
    _shape("headlight", "oval", "890,262 934,318", 235),
    _shape("turn_signal", "oval", "868,330 908,358", 200, position="front"),
    _shape("turn_signal", "oval", "196,354 232,380", 200, position="rear"),
    _shape("handlebar", "line", "846,234 790,204 742,214", 80, width=14),
    _shape("mirror", "line", "800,206 786,168", 80, width=8),
    _shape("mirror", "oval", "752,138 808,180", 95),
    _shape("luggage_rack", "line", "200,312 300,298 300,284 200,298", 85, width=10),
    _shape("tail_light", "area", "196,326 226,322 228,348 198,350", 190),
    _shape("license_plate_bracket", "line", "196,388 150,452", 130, width=18),
    _shape("footpeg", "line", "590,560 640,560", 60, width=18),
)
_RIGHT_ONLY = (
    _shape("header_pipe", "line", "740,420 806,470 790,560 700,596 560,596", 200, width=24),
    _shape("exhaust", "line", "560,596 240,560", 185, width=54),
    _shape("heat_shield", "line", "520,580 390,566", 120, width=22),
    _shape("clutch_cover", "ring", "630,480 50,0", 175),
    _shape("brake_pedal", "line", "650,578 724,584", 70, width=14),
)
_LEFT_ONLY = (
    _shape("stator_cover", "ring", "690,470 46,0", 175),
    _shape("shift_lever", "line", "652,580 722,572", 70, width=12),
    _shape("kickstand", "line", "590,566 520,668 488,668", 80, width=16),
)


def _mirrored(shape: Shape) -> Shape:
    radii = shape.points[1:] if shape.form == "ring" else ()
    centres = shape.points[:1] if shape.form == "ring" else shape.points
    return replace(shape, points=(*((WIDTH - x, y) for x, y in centres), *radii))


def _pair(shape: Shape, side: Side) -> tuple[Shape, ...]:
    """A shape drawn for one side, and its mirror image for the other."""
    other: Side = "left" if side == "right" else "right"
    return replace(shape, side=side), replace(_mirrored(shape), side=other)


_FRONT = (
    _shape(
        "tire",
        "area",
        "590,380 690,380 700,420 700,640 680,670 600,670 580,640 580,420",
        45,
        position="front",
    ),
    _shape("radiator", "area", "540,330 740,330 740,420 540,420", 110),
    *_pair(_shape("fork", "line", "556,250 556,560", 175, width=30), "right"),
    *_pair(_shape("fork_seal", "line", "556,392 556,430", 60, width=44), "right"),
    _shape(
        "fender",
        "area",
        "586,470 586,390 610,366 670,366 694,390 694,470 676,440 604,440",
        120,
        position="front",
    ),
    _shape("fairing", "area", "520,210 760,210 790,270 730,352 550,352 490,270", 145),
    _shape("windshield", "area", "540,210 570,90 710,90 740,210", 215),
    _shape("headlight", "oval", "580,228 700,326", 235),
    _shape("handlebar", "line", "380,206 500,226 780,226 900,206", 80, width=14),
    *_pair(_shape("mirror", "line", "470,222 430,140", 80, width=8), "right"),
    *_pair(_shape("mirror", "oval", "372,92 470,150", 95), "right"),
    *_pair(_shape("turn_signal", "oval", "428,282 496,322", 200, position="front"), "right"),
)
_REAR = (
    _shape(
        "tire",
        "area",
        "580,400 700,400 710,440 710,650 690,684 590,684 570,650 570,440",
        45,
        position="rear",
    ),
    _shape("exhaust", "ring", "790,590 46,22", 185, side="right"),
    *_pair(_shape("saddlebag", "area", "730,300 880,310 890,480 730,490", 105), "right"),
    _shape(
        "fender",
        "area",
        "570,520 564,300 600,270 680,270 716,300 710,520 690,470 590,470",
        120,
        position="rear",
    ),
    _shape("passenger_seat", "area", "560,200 720,200 736,250 544,250", 60),
    _shape("luggage_rack", "line", "520,262 760,262 760,236 520,236 520,262", 85, width=12),
    _shape("tail_light", "area", "590,290 690,290 690,340 590,340", 190),
    _shape("license_plate_bracket", "area", "584,372 696,372 696,448 584,448", 130),
    *_pair(_shape("turn_signal", "oval", "740,254 806,290", 200, position="rear"), "right"),
    *_pair(_shape("mirror", "oval", "812,92 910,150", 95), "right"),
)
_COCKPIT = (
    _shape("windshield", "area", "430,200 500,40 780,40 850,200", 215),
    _shape("instrument", "oval", "560,180 720,320", 60),
    _shape("handlebar", "line", "240,400 480,340 800,340 1040,400", 80, width=24),
    *_pair(_shape("grip", "line", "1040,400 940,376", 50, width=46), "right"),
    _shape("brake_lever", "line", "860,330 1040,350", 190, width=16, side="right"),
    _shape("clutch_lever", "line", "420,330 240,350", 190, width=16, side="left"),
    *_pair(_shape("mirror", "line", "880,350 960,190", 80, width=12), "right"),
    *_pair(_shape("mirror", "oval", "900,100 1060,190", 95), "right"),
    _shape("fuel_tank", "area", "500,720 470,560 540,470 740,470 810,560 780,720", 170),
    _shape("fuel_cap", "ring", "640,570 54,0", 110),
)

VIEWS: dict[str, tuple[Shape, ...]] = {
    "right": tuple(replace(shape, side="right") for shape in (*_SIDE, *_RIGHT_ONLY)),
    "left": tuple(replace(_mirrored(s), side="left") for s in (*_SIDE, *_LEFT_ONLY)),
    "front": _FRONT,
    "rear": _REAR,
    "cockpit": _COCKPIT,
}
