"""What the ad writer is told: the settled findings of a record, put into words and linked.

Every output (page, captions, texts, table, linked data) is written from one `Handover`, so that
none can say more than another.
"""

import hashlib
import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from lexicon.entries import DefectEntry, PartEntry
from pipeline import wording
from pipeline.models import REVIEWED, CleanPart, Finding, Line, LineStatus, Record, TireDate
from pipeline.publish.links import Linker
from pipeline.times import Interval, clock
from pipeline.understand.tires import age_years

SETTLED = frozenset({"clear", "confirmed", "amended"})

GENERAL_CAUTION = (
    "This is a record of how the machine looked and what was said of it on a spoken walkaround. "
    "It is no safety inspection: have a qualified technician check the machine before it is "
    "ridden. Local law on what a seller must disclose applies."
)

_UNCONFIRMED = "Unconfirmed: "
_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_-]{0,40}")
_JOINED_S = 1.0  # unheard stretches closer than this read as one


@dataclass(frozen=True)
class Flaw:
    """A finding that is told. `place` and `name` are those of the part and of the flaw.

    `moment` is what the link plays: the phrase with its lead-in; `url` is None where there is no
    video. `area` and `group` are lexicon ids, or "other".
    """

    finding: Finding
    sentence: str
    place: str
    name: str
    caution: str | None
    area: str
    group: str
    moment: Interval
    url: str | None
    confirmed: bool

    @property
    def grade(self) -> int:
        """The grade for ordering: ungraded findings come last."""
        return -1 if self.finding.severity is None else self.finding.severity

    @property
    def title(self) -> str:
        """Part and flaw, short enough for a heading: "Left saddlebag: scuff"."""
        return f"{self.place}: {self.name}"

    @property
    def anchor(self) -> str:
        """The finding's id where it can name a file and an element, else a digest of it."""
        given = self.finding.id
        if _NAME.fullmatch(given):
            return given
        return f"x{hashlib.sha256(given.encode('utf-8', 'replace')).hexdigest()[:12]}"

    @property
    def at(self) -> str:
        """When the link starts, as `m:ss`."""
        return clock(self.moment.start_s)


@dataclass(frozen=True)
class Clean:
    """A part called free of damage, and the sentence in which that was said, if it can be told.

    `moment` and `url` are a flaw's. `apart_from`: a flaw of the same part is told all the same.
    """

    name: str
    heard: str
    moment: Interval
    url: str | None
    apart_from: bool


@dataclass(frozen=True)
class Reviewer:
    """Who settled lines, how many, and when (first and last decision)."""

    who: str
    decisions: int
    first: datetime
    last: datetime


@dataclass(frozen=True)
class Handover:
    """All that is told. `flaws` are in the order of the walk; `recorded` is the file's own name.

    `withheld` counts unreviewed findings that are left out. `unheard` are stretches of talk that
    nobody could make out, `doubtful` those heard with doubt.
    """

    record: Record
    title: str
    facts: dict[str, str]
    flaws: tuple[Flaw, ...]
    withheld: int
    clean: tuple[Clean, ...]
    unmentioned: tuple[str, ...]
    unheard: tuple[Interval, ...]
    doubtful: tuple[Interval, ...]
    units: wording.Units
    media: str | None
    reviewers: tuple[Reviewer, ...] = field(default=())

    @property
    def has_picture(self) -> bool:
        """Whether the recording is a video; a sound recording alone is not."""
        source = self.record.source
        return source.has_video or source.transcript_origin != "recogniser"

    @property
    def unconfirmed(self) -> int:
        """How many unreviewed findings are told, marked as such."""
        return sum(not flaw.confirmed for flaw in self.flaws)

    def cautions(self) -> dict[str, list[Flaw]]:
        """What a technician should look at: each reason once, with its flaws."""
        found: dict[str, list[Flaw]] = {}
        for flaw in self.flaws:
            if flaw.caution:
                found.setdefault(flaw.caution, []).append(flaw)
        return found

    def open_points(self) -> list[str]:
        """What is not settled, not heard or not spoken of, one sentence each."""
        points = []
        if self.withheld:
            left_out = wording.counted(self.withheld, "further finding")
            points.append(f"{left_out} {_are(self.withheld)} left out here until reviewed.")
        if self.unconfirmed:
            points.append(
                f'{wording.counted(self.unconfirmed, "finding")} marked "Unconfirmed" '
                f"{_are(self.unconfirmed)} not reviewed."
            )
        if self.unheard:
            points.append(f"What was said at {_stretches(self.unheard)} could not be made out.")
        if self.doubtful:
            points.append(f"What was said at {_stretches(self.doubtful)} is doubtful.")
        if self.unmentioned:
            points.append(f"Not spoken of: {', '.join(self.unmentioned)}.")
        return points

    def by_area(self) -> list[tuple[str, list[Flaw]]]:
        """Flaws that are no earlier repairs under their area's heading, worst first."""
        return _worst_first(flaw for flaw in self.flaws if flaw.group != "history")

    def repairs(self) -> list[Flaw]:
        """Earlier repairs, in the order of the walk."""
        return [flaw for flaw in self.flaws if flaw.group == "history"]


def briefly(flaws: Iterable[Flaw]) -> list[str]:
    """The flaws in few words, each part once: "Passenger seat: cut, mildew"."""
    named: dict[str, list[str]] = {}
    for flaw in flaws:
        named.setdefault(flaw.place, []).append(flaw.name)
    return [f"{place}: {', '.join(dict.fromkeys(names))}" for place, names in named.items()]


def prepare(
    record: Record,
    *,
    parts: Mapping[str, PartEntry],
    defects: Mapping[str, DefectEntry],
    linker: Linker,
    units: wording.Units,
    include_unconfirmed: bool,
    reviewers: Sequence[Reviewer] = (),
) -> Handover:
    """The handover of a record: struck findings never, unreviewed ones only if asked for."""
    unsettled = [f for f in record.findings if f.status == "flagged"]
    told = [
        f
        for f in record.findings
        if f.status in SETTLED or (include_unconfirmed and f.status == "flagged")
    ]
    flaws = tuple(
        _flaw(f, parts, defects, linker, units) for f in sorted(told, key=lambda f: f.start_s)
    )
    withheld = [] if include_unconfirmed else unsettled
    return Handover(
        record=record,
        title=wording.vehicle_title(record.vehicle),
        facts=_facts(record),
        flaws=flaws,
        withheld=len(withheld),
        clean=tuple(
            Clean(
                name=wording.part_name(part),
                heard=_sentence_around(part.interval, record, told),
                moment=linker.moment(part.interval),
                url=linker.url(part.interval),
                apart_from=any(_same_place(part, f) for f in told),
            )
            for part in record.clean
            if not any(_same_place(part, f) for f in withheld)
        ),
        unmentioned=tuple(wording.bare_part_name(part) for part in record.unmentioned),
        unheard=_spans(record.lines, "unheard"),
        doubtful=_spans(record.lines, "doubtful"),
        units=units,
        media=linker.media,
        reviewers=tuple(reviewers),
    )


def _flaw(
    finding: Finding,
    parts: Mapping[str, PartEntry],
    defects: Mapping[str, DefectEntry],
    linker: Linker,
    units: wording.Units,
) -> Flaw:
    part, defect = parts.get(finding.part), defects.get(finding.defect)
    confirmed = finding.status in SETTLED
    mark = "" if confirmed else _UNCONFIRMED
    return Flaw(
        finding=finding,
        sentence=mark + wording.sentence(finding, units),
        place=mark + wording.capitalised(wording.part_name(finding)),
        name=wording.defect_name(finding.defect),
        caution=wording.plain(finding.caution) if finding.caution else None,
        area=part.area if part else "other",
        group=defect.group if defect else "other",
        moment=linker.moment(finding.interval),
        url=linker.url(finding.interval),
        confirmed=confirmed,
    )


def _facts(record: Record) -> dict[str, str]:
    """What the header says besides year, make and model, which are the title: label to text."""
    vehicle = record.vehicle
    facts = {
        "Kind": "" if vehicle.kind_basis == "default" else wording.kind_name(vehicle.kind),
        "Stock number": wording.plain(vehicle.stock_number or ""),
        "VIN": wording.plain(vehicle.vin or ""),
        "Odometer": wording.odometer_text(vehicle.odometer) if vehicle.odometer else "",
        "Hours": "" if vehicle.hours is None else f"{vehicle.hours:,g}",
        "Tire date codes": "; ".join(_tire_text(tire, record) for tire in vehicle.tires),
    }
    if vehicle.vin and vehicle.vin_valid is False:
        facts["VIN"] += " (as heard; its check digit does not fit)"
    return {label: text for label, text in facts.items() if text}


def _tire_text(tire: TireDate, record: Record) -> str:
    """A date code as said, what it means, and the age on the recording's date where it has one."""
    told = [wording.plain(f"{tire.position} {tire.code}" if tire.position else tire.code)]
    if tire.week and tire.year:
        told.append(f"week {tire.week} of {tire.year}")
    recorded_at = record.source.recorded_at
    age = age_years(tire, recorded_at.date()) if recorded_at else None
    if age is not None:
        told.append(f"{age:.1f} years old when recorded")
    return ", ".join(told)


def _same_place(clean: CleanPart, finding: Finding) -> bool:
    """Whether a finding may lie on a part that was called clean; a place not said may be it."""
    return (
        clean.part == finding.part
        and (clean.position is None or finding.position in {None, clean.position})
        and ({clean.side, finding.side} & {None, "both"} != set() or clean.side == finding.side)
    )


def _sentence_around(phrase: Interval, record: Record, told: Sequence[Finding]) -> str:
    """The line in which a phrase begins, for a phrase alone may lack its "no".

    Empty where the line also speaks of a finding that is not told.
    """
    line = next((ln for ln in record.lines if ln.start_s <= phrase.start_s < ln.end_s), None)
    if line is None or any(
        line.interval.overlap_s(finding.interval) > 0
        for finding in record.findings
        if finding not in told
    ):
        return ""
    return line_text(line)


def with_lines_seen(record: Record) -> Record:
    """The record; a line in which a reviewer settled a finding was seen with it, words and all."""
    seen = {finding.line_id for finding in record.findings if finding.status in REVIEWED}
    lines = [
        line.model_copy(update={"reviewed": "seen"})
        if line.id in seen and "reviewed" not in (line.model_extra or {})
        else line
        for line in record.lines
    ]
    return record.model_copy(update={"lines": lines})


def line_status(line: Line) -> LineStatus:
    """How well a line is heard, after a reviewer listened to it where one did."""
    reviewed = (line.model_extra or {}).get("reviewed")
    if reviewed is None:
        return "doubtful" if line.status == "heard" and line.flags else line.status
    return "unheard" if reviewed == "not_audible" else "heard"


def line_text(line: Line) -> str:
    """What was said: a reviewer's typed words, or else the transcript's."""
    return wording.plain(str((line.model_extra or {}).get("said") or line.text))


def _spans(lines: Iterable[Line], status: LineStatus) -> tuple[Interval, ...]:
    spans: list[Interval] = []
    for line in sorted(lines, key=lambda line: line.start_s):
        if line_status(line) != status:
            continue
        if spans and spans[-1].gap_s(line.interval) < _JOINED_S:
            end_s = max(spans[-1].end_s, line.end_s)
            spans[-1] = Interval(start_s=spans[-1].start_s, end_s=end_s)
        else:
            spans.append(line.interval)
    return tuple(spans)


def _are(number: int) -> str:
    return "is" if number == 1 else "are"


def stretch_text(span: Interval) -> str:
    """An interval as whole seconds that hold it: "0:26-0:30"."""
    return f"{clock(span.start_s)}-{clock(math.ceil(span.end_s))}"


def _stretches(spans: Iterable[Interval]) -> str:
    return ", ".join(stretch_text(span) for span in spans)


def _worst_first(flaws: Iterable[Flaw]) -> list[tuple[str, list[Flaw]]]:
    areas: dict[str, list[Flaw]] = {}
    for flaw in sorted(flaws, key=lambda flaw: -flaw.grade):
        areas.setdefault(flaw.area, []).append(flaw)
    return [(wording.area_name(area), found) for area, found in areas.items()]
