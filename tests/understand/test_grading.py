import pytest

from pipeline.understand.grading import area_grade, grade


# ISO 4628-3:2016 with the areas of its pictures (0.05, 0.5, 1, 8, 40 %); between two pictures the
# nearer on a log scale, so grades change at 0.158, 0.707, 2.83 and 17.9 %.
@pytest.mark.published
@pytest.mark.parametrize(
    ("pct", "expected"),
    [
        (0, 0), (0.05, 1), (0.157, 1), (0.159, 2), (0.5, 2), (0.70, 2), (0.71, 3), (1, 3), (2.82, 3),
        (2.84, 4), (8, 4), (17.8, 4), (18, 5), (40, 5), (100, 5),
    ],
)  # fmt: skip
def test_rust_by_area(pct: float, expected: int) -> None:
    assert area_grade("rust", pct) == expected


@pytest.mark.published
@pytest.mark.parametrize(
    ("pct", "expected"), [(0.1, 1), (0.3, 2), (1, 3), (3, 4), (15, 5)]
)  # ISO 4628-5, from memory
def test_flaking_by_area(pct: float, expected: int) -> None:
    assert area_grade("flaking", pct) == expected


@pytest.mark.parametrize(
    ("defect", "group", "qualifiers", "pct", "expected"),
    [
        ("scratch", "finish", [], None, (3, "default")),
        ("scratch", "finish", [2], None, (2, "spoken")),
        ("scratch", "finish", [3, 2], None, (2, "spoken")),  # "some light scratches"
        ("scratch", "finish", [3], None, (3, "spoken")),
        ("scratch", "finish", [], 50.0, (3, "default")),  # only some flaws have a table
        ("rust", "metal", [], 8.0, (4, "area")),
        ("rust", "metal", [2], 8.0, (2, "spoken")),  # a word decides over an area
        ("worn_through", "soft_goods", [], None, (5, "spoken")),
        ("repaint", "history", [], None, (None, "default")),
        ("repaint", "history", [2], None, (2, "spoken")),
    ],
)
def test_grade(
    defect: str, group: str, qualifiers: list[int], pct: float | None, expected: tuple[object, str]
) -> None:
    assert grade(defect, group, qualifiers, pct) == expected
