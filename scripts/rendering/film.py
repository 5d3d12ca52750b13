"""The picture to a narration: a drawn machine, the part in question close up and marked.

Each part spoken of is painted in a flat colour of its own while the talk is about it, so that a
still can be checked by its colours. The camera arrives before the phrase does.
"""

import colorsys
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from PIL import Image, ImageDraw, ImageFilter
from pydantic import BaseModel

from pipeline.models import Position, Side
from pipeline.score.truth import Truth
from rendering.machine import HEIGHT, VIEWS, WIDTH, Shape

FPS = 10
LEAD_S = 0.5  # the part is marked so long before its phrase
MOVE_S = 0.2  # and the camera arrives so long after that

_BACKGROUND = (228, 228, 224)
_OUTLINE = (30, 30, 30)
_CLOSEST = 460  # canvas units along the frame's longer side, at the nearest

Colour = tuple[int, int, int]
Box = tuple[float, float, float, float]  # left, top, right, bottom


class Mark(BaseModel, frozen=True):
    """A part as a finding names it."""

    part: str
    position: Position | None = None
    side: Side | None = None

    def covers(self, shape: Shape) -> bool:
        """Whether a shape belongs to the part; a shape or mark without a place fits any."""
        return (
            shape.part == self.part
            and (self.position is None or shape.position in (None, self.position))
            and (self.side in (None, "both") or shape.side in (None, self.side))
        )


class Shown(BaseModel):
    """A stretch of the film in which a part is marked: its colour, and where it is in the frame.

    `box` is (left, top, right, bottom) in pixels of the upright frame, `spot` a pixel inside the
    marked paint; both hold from `start_s` to `end_s`, seconds from the start of the media.
    """

    part: str
    position: Position | None
    side: Side | None
    colour: Colour
    start_s: float
    end_s: float
    box: tuple[int, int, int, int]
    spot: tuple[int, int]


@dataclass(frozen=True)
class Shot:
    """From `start_s` on the camera looks at one view, or at the marked part in it."""

    start_s: float
    view: str
    mark: Mark | None


def shots(truth: Truth) -> list[Shot]:
    """What is in the picture when, from a truth with times."""
    plan = [Shot(0.0, "right", None)]
    for start_s, mark in _marks(truth):
        begin_s = max(start_s - LEAD_S, plan[-1].start_s + MOVE_S)
        plan.append(Shot(begin_s, _view_of(mark, plan[-1].view), mark))
    last_s = max(say.end_s or 0.0 for say in truth.say if say.findings or say.clean)
    return [*plan, Shot(last_s + 0.3, plan[-1].view, None)]


def colours(plan: list[Shot]) -> dict[Mark, Colour]:
    """A colour for each marked part, as far apart in hue as their number allows."""
    marks = list(dict.fromkeys(shot.mark for shot in plan if shot.mark))
    return {mark: _hue(number / len(marks)) for number, mark in enumerate(marks)}


def pictures(plan: list[Shot], size: tuple[int, int], duration_s: float) -> Iterator[Image.Image]:
    """Every frame, `FPS` a second, of `size` (width, height)."""
    paint = colours(plan)
    for number, shot in enumerate(plan):
        before = plan[max(0, number - 1)]
        end_s = plan[number + 1].start_s if number + 1 < len(plan) else duration_s
        drawing = _drawn(shot, paint)
        still = _seen(drawing, _camera(shot, size), size)
        for index in range(_frame_at(shot.start_s), _frame_at(end_s)):
            moved = (index / FPS - shot.start_s) / MOVE_S
            if moved >= 1 or shot.view != before.view:
                yield still
            else:
                yield _seen(
                    drawing, _between(_camera(before, size), _camera(shot, size), moved), size
                )


def shown(plan: list[Shot], size: tuple[int, int]) -> list[Shown]:
    """When and where each marked part is in the frame, the camera standing still."""
    paint = colours(plan)
    stretches = []
    for shot, following in pairwise(plan):
        if shot.mark is None:
            continue
        still = _seen(_drawn(shot, paint), _camera(shot, size), size)
        mask = Image.fromarray(np.all(np.asarray(still) == paint[shot.mark], axis=2))
        stretches.append(
            Shown(
                **shot.mark.model_dump(),
                colour=paint[shot.mark],
                start_s=round(shot.start_s + MOVE_S, 3),
                end_s=round((_frame_at(following.start_s) - 1) / FPS, 3),
                box=mask.getbbox() or (0, 0, 0, 0),
                spot=_innermost(mask),
            )
        )
    return stretches


def _marks(truth: Truth) -> list[tuple[float, Mark]]:
    """The parts spoken of, with the start of each phrase, in order."""
    marks = []
    for say in truth.say:
        if say.start_s is None or say.end_s is None:
            raise ValueError(f"'{say.text}' has no times; recite the narration first")
        for finding in say.findings:
            marks.append((finding.start_s or say.start_s, _mark_of(finding)))
        for clean in say.clean:
            place = say.text.index(clean.phrase) / len(say.text)
            marks.append((say.start_s + place * (say.end_s - say.start_s), _mark_of(clean)))
    return sorted(marks, key=lambda pair: pair[0])


def _mark_of(stated: object) -> Mark:
    return Mark.model_validate(stated, from_attributes=True)


def _view_of(mark: Mark, current: str) -> str:
    """The present view where the part is in it; else the first that shows it."""
    sides = [mark.side] if mark.side in ("left", "right") else []
    for view in (*sides, current, "front", "rear", "cockpit", "right", "left"):
        if any(map(mark.covers, VIEWS[view])):
            return view
    raise ValueError(f"no view of the drawn machine shows {mark}")


def _hue(share: float) -> Colour:
    red, green, blue = colorsys.hsv_to_rgb(share, 0.85, 0.9)
    return round(red * 255), round(green * 255), round(blue * 255)


def _drawn(shot: Shot, paint: dict[Mark, Colour]) -> Image.Image:
    image = Image.new("RGB", (WIDTH, HEIGHT), _BACKGROUND)
    draw = ImageDraw.Draw(image)
    shapes = VIEWS[shot.view]
    marked = [shape for shape in shapes if shot.mark is not None and shot.mark.covers(shape)]
    for shape in shapes:
        if shape not in marked:
            _draw(draw, shape, (shape.shade,) * 3)
    for shape in marked:
        assert shot.mark is not None
        _draw(draw, shape, paint[shot.mark])
    return image


def _draw(draw: ImageDraw.ImageDraw, shape: Shape, fill: tuple[int, ...]) -> None:
    points = [tuple(map(float, point)) for point in shape.points]
    if shape.form == "area":
        draw.polygon(points, fill, _OUTLINE, 3)
    elif shape.form == "line":
        draw.line(points, _OUTLINE, shape.width + 6, "curve")
        draw.line(points, fill, shape.width, "curve")
    elif shape.form == "oval":
        draw.ellipse(_edges(shape), fill, _OUTLINE, 3)
    else:
        outer, inner = points[1]
        draw.circle(points[0], outer, None, _OUTLINE, round(outer - inner))
        draw.circle(points[0], outer - 3, None, fill, round(outer - inner) - 6)


def _camera(shot: Shot, size: tuple[int, int]) -> Box:
    """What the camera sees, in canvas units, in the proportions of the frame."""
    in_view = [s for s in VIEWS[shot.view] if shot.mark is None or shot.mark.covers(s)]
    edges = np.array([_edges(shape) for shape in in_view])
    left, top = edges[:, :2].min(axis=0)
    right, bottom = edges[:, 2:].max(axis=0)
    room = 1.1 if shot.mark is None else 1.5
    aspect = size[0] / size[1]
    width = max((right - left) * room, (bottom - top) * room * aspect, _CLOSEST * min(1, aspect))
    height = width / aspect
    x, y = (left + right) / 2, (top + bottom) / 2
    return (x - width / 2, y - height / 2, x + width / 2, y + height / 2)


def _edges(shape: Shape) -> Box:
    xs, ys = zip(*shape.points, strict=True)
    if shape.form == "ring":
        reach = shape.points[1][0]
        return (xs[0] - reach, ys[0] - reach, xs[0] + reach, ys[0] + reach)
    edge = shape.width / 2
    return (min(xs) - edge, min(ys) - edge, max(xs) + edge, max(ys) + edge)


def _between(first: Box, second: Box, share: float) -> Box:
    """A camera so far on its way from one place to another."""
    edges = zip(first, second, strict=True)
    left, top, right, bottom = (a + (b - a) * max(0.0, share) for a, b in edges)
    return (left, top, right, bottom)


def _seen(drawing: Image.Image, camera: Box, size: tuple[int, int]) -> Image.Image:
    return drawing.transform(
        size, Image.Transform.EXTENT, camera, Image.Resampling.NEAREST, fillcolor=_BACKGROUND
    )


def _innermost(mask: Image.Image) -> tuple[int, int]:
    """A pixel of the mask far from its edge."""
    inner = mask.convert("L")
    while (smaller := inner.filter(ImageFilter.MinFilter(3))).getbbox():
        inner = smaller
    rows, columns = np.nonzero(np.asarray(inner))
    return int(columns[0]), int(rows[0])


def _frame_at(seconds: float) -> int:
    """The first frame shown at or after a moment."""
    return int(np.ceil(seconds * FPS - 1e-9))
