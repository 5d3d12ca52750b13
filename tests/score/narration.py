"""A small truth with everything in it that is scored, and the record that says just that."""

from typing import Any

from pipeline.models import (
    CleanPart,
    Finding,
    Mention,
    Odometer,
    Record,
    Settings,
    Source,
    Vehicle,
)
from pipeline.score.timing import at_steady_pace, exact_transcript, when
from pipeline.score.truth import Say, TrueClean, TrueFinding, TrueVehicle, Truth


def truth() -> Truth:
    """Eight sentences and a noise: six flaws, one of them spoken of twice, and a clean part."""
    return at_steady_pace(
        Truth(
            id="small",
            kind="motorcycle",
            split="fit",
            vehicle=TrueVehicle(
                year=2014,
                make="Corvane",
                stock_number="B4471",
                odometer=Odometer(value=12430, unit="mi"),
            ),
            say=[
                Say(
                    text="Here is the twenty fourteen Corvane, stock number B four four seven one."
                ),
                Say(
                    text="The front fender has three light scratches, two inches long.",
                    findings=[
                        TrueFinding(
                            part="fender",
                            position="front",
                            defect="scratch",
                            severity=2,
                            count=3,
                            size_mm=50.8,
                            phrase="front fender has three light scratches, two inches long",
                        )
                    ],
                ),
                Say(noise_s=4.0),
                Say(
                    text="The left mirror is cracked, and the right mirror is cracked.",
                    findings=[
                        flaw("mirror", "crack", "left mirror is cracked", side="left", key="m"),
                        flaw("mirror", "crack", "right mirror is cracked", side="right"),
                    ],
                ),
                Say(
                    text="Half the exhaust has rust.",
                    findings=[
                        flaw(
                            "exhaust", "rust", "Half the exhaust has rust", severity=5, area_pct=50
                        )
                    ],
                ),
                Say(
                    text="The tank was repainted.",
                    findings=[flaw("fuel_tank", "repaint", "tank was repainted")],
                ),
                Say(
                    text="No dents in the seat.",
                    clean=[TrueClean(part="seat", phrase="No dents in the seat")],
                ),
                Say(text="Something nobody makes out.", unheard=True),
                Say(
                    text="The left mirror again, cracked.",
                    findings=[
                        flaw("mirror", "crack", "left mirror again", side="left", mention_of="m")
                    ],
                ),
            ],
        )
    )


def flaw(part: str, defect: str, phrase: str, **fields: Any) -> TrueFinding:
    """A flaw whose grade is the rule's unless given."""
    return TrueFinding.model_validate({"part": part, "defect": defect, "phrase": phrase, **fields})


def perfect_record(true: Truth | None = None) -> Record:
    """The record of one who heard all, is sure of it, and flags what nobody makes out."""
    true = true or truth()
    findings: dict[str, Finding] = {}
    for say in true.say:
        for stated in say.findings:
            if stated.mention_of is None:
                finding = _finding(len(findings) + 1, stated)
                findings[stated.key or finding.id] = finding
            else:
                spoken = when(stated)
                findings[stated.mention_of].mentions.append(
                    Mention(start_s=spoken.start_s, end_s=spoken.end_s, heard=stated.phrase)
                )
    transcript = exact_transcript(true)
    unheard = {say.start_s for say in true.say if say.unheard}
    for line in transcript.lines:
        if line.start_s in unheard:
            line.status = "unheard"
    return Record(
        source=Source(
            file_name="small.ogg",
            sha256="0" * 64,
            duration_s=transcript.duration_s,
            has_video=False,
            transcript_origin="recogniser",
        ),
        vehicle=Vehicle(kind=true.kind, **true.vehicle.model_dump()),
        findings=list(findings.values()),
        clean=[_clean(say, clean) for say in true.say for clean in say.clean],
        unmentioned=[],
        lines=transcript.lines,
        settings=Settings(program_version="0", lexicon="motorcycle", lexicon_version="0"),
    )


def with_finding(record: Record, number: int, **fields: Any) -> Record:
    """The record with other fields in one finding, counted from 1."""
    findings = list(record.findings)
    findings[number - 1] = findings[number - 1].model_copy(update=fields)
    return record.model_copy(update={"findings": findings})


def without_finding(record: Record, number: int) -> Record:
    """The record without one finding, counted from 1."""
    findings = [f for i, f in enumerate(record.findings, 1) if i != number]
    return record.model_copy(update={"findings": findings})


def with_more(record: Record, *findings: Finding) -> Record:
    """The record with findings added."""
    return record.model_copy(update={"findings": [*record.findings, *findings]})


def with_line(record: Record, number: int, **fields: Any) -> Record:
    """The record with other fields in one line, counted from 1."""
    lines = list(record.lines)
    lines[number - 1] = lines[number - 1].model_copy(update=fields)
    return record.model_copy(update={"lines": lines})


def misheard(record: Record, number: int, said: str, heard: str) -> Record:
    """The record with another word heard in one line, counted from 1."""
    words = [
        word.model_copy(update={"text": word.text.replace(said, heard)})
        for word in record.lines[number - 1].words
    ]
    return with_line(record, number, text=" ".join(word.text for word in words), words=words)


def _finding(number: int, stated: TrueFinding) -> Finding:
    spoken = when(stated)
    return Finding(
        id=f"F{number:03}",
        part=stated.part,
        position=stated.position,
        side=stated.side,
        defect=stated.defect,
        severity=stated.severity,
        count=stated.count,
        size_mm=stated.size_mm,
        area_pct=stated.area_pct,
        start_s=spoken.start_s,
        end_s=spoken.end_s,
        heard=stated.phrase,
        read_as=stated.phrase,
        confidence=1.0,
    )


def _clean(say: Say, clean: TrueClean) -> CleanPart:
    spoken = when(say)
    return CleanPart(
        part=clean.part,
        position=clean.position,
        side=clean.side,
        start_s=spoken.start_s,
        end_s=spoken.end_s,
    )
