"""The flaws as a CSV table (RFC 4180) that opens in a spreadsheet and runs nothing there."""

import csv
import io

from pipeline import wording
from pipeline.publish.handover import Flaw, Handover
from pipeline.publish.links import seconds

# Spreadsheets take a cell that starts with one of these, also in full width, for a formula.
_FORMULA_STARTS = tuple("=+-@\uff1d\uff0b\uff0d\uff20|")

_REVIEWS = {
    "clear": "not asked for",
    "flagged": "still open",
    "confirmed": "confirmed",
    "amended": "amended",
}

_BYTE_ORDER_MARK = "\ufeff"  # without it spreadsheets read UTF-8 as the system's own code page


def table(handover: Handover) -> str:
    """One row per flaw in the order of the walk, with a header; sizes in the reader's units."""
    size = f"size_{handover.units}"
    rows = [_row(flaw, size, handover.units) for flaw in handover.flaws]
    file = io.StringIO()
    writer = csv.DictWriter(file, fieldnames=list(_columns(size)), lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    return _BYTE_ORDER_MARK + file.getvalue()


def harmless(text: str) -> str:
    """Text that no spreadsheet takes for a formula: what looks like one gets an apostrophe."""
    return f"'{text}" if text.lstrip().startswith(_FORMULA_STARTS) else text


def _columns(size: str) -> tuple[str, ...]:
    return (
        "id",
        "area",
        "side",
        "position",
        "part",
        "detail",
        "flaw",
        "grade",
        "grade_word",
        "grade_basis",
        "count",
        size,
        "area_pct",
        "at",
        "phrase_start_s",
        "phrase_end_s",
        "sentence",
        "heard",
        "read_as",
        "review",
        "caution",
        "link",
    )


def _row(flaw: Flaw, size: str, units: wording.Units) -> dict[str, str]:
    finding = flaw.finding
    cells = {
        "id": finding.id,
        "area": wording.area_name(flaw.area),
        "side": finding.side,
        "position": finding.position,
        "part": finding.part_said
        if finding.part == "other"
        else wording.bare_part_name(finding.part),
        "detail": finding.detail,
        "flaw": wording.defect_name(finding.defect),
        "grade": finding.severity,
        "grade_word": wording.grade_word(finding.severity),
        "grade_basis": None if finding.severity is None else finding.severity_basis,
        "count": finding.count,
        size: _size(finding.size_mm, units),
        "area_pct": None if finding.area_pct is None else f"{finding.area_pct:g}",
        "at": flaw.at,
        "phrase_start_s": seconds(finding.start_s),
        "phrase_end_s": seconds(finding.end_s),
        "sentence": flaw.sentence,
        "heard": finding.heard,
        "read_as": finding.read_as,
        "review": _REVIEWS[finding.status],
        "caution": flaw.caution,
        "link": flaw.url,
    }
    return {
        name: "" if value is None else harmless(wording.plain(str(value)))
        for name, value in cells.items()
    }


def _size(size_mm: float | None, units: wording.Units) -> str | None:
    if size_mm is None:
        return None
    return seconds(size_mm if units == "mm" else size_mm / wording.MM_PER_INCH)
