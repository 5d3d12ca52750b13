"""The step itself: a transcript in, its meaning out."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence

from lexicon.expand import OTHER
from lexicon.load import FileText, Lexicon, kind_cues, load_lexicon
from pipeline.models import CleanPart, Kind, Line, Statement, Transcript, Understanding, Word
from pipeline.understand.contested import CONTESTED
from pipeline.understand.extent import extent
from pipeline.understand.grading import grade
from pipeline.understand.header import read_header
from pipeline.understand.nlp import read_lines
from pipeline.understand.references import UNHEARD_REFERENCE, merge
from pipeline.understand.said import Clean, Flaw, Said
from pipeline.understand.spoken import Spoken
from pipeline.understand.terms import Item
from pipeline.understand.tokens import pieces

_A_TALK = 4  # sentences; one typed in a review may name an unknown thing alone


def understand(
    transcript: Transcript, kind: Kind | None = None, extra: FileText | None = None
) -> Understanding:
    """What a talk says: header, flaws, clean parts, and the parts nobody spoke of.

    `kind` None lets the talk decide; `extra` is a shop's own lexicon file. Raises LexiconError.
    """
    text = " ".join(line.text for line in transcript.lines if line.status != "unheard")
    decided = kind or decide_kind(text)
    lexicon = load_lexicon(decided or "motorcycle", extra)
    doc = read_lines(transcript.lines, lexicon, extra)
    said: Said = doc._.said
    rows, sentences = doc._.items, doc._.sentences
    spoken = Spoken(doc)

    def items(said: Flaw | Clean) -> list[Item]:
        return [rows[said.sentence][i] for i in said.items]

    told: defaultdict[tuple[int, str | None], list[int]] = defaultdict(list)
    for flaw in said.flaws:
        told[flaw.sentence, flaw.target.place.part].append(flaw.items[0])

    def to_statement(flaw: Flaw) -> Statement:
        row, part = rows[flaw.sentence], flaw.target.place.part
        own = [row[i] for i in extent(row, flaw.items, part, told[flaw.sentence, part])]
        return _statement(spoken, own, items(flaw), flaw, lexicon)

    statements, unheard = merge(_of_a_machine(said.flaws, rows), to_statement)
    vehicle = read_header(doc._.texts, lexicon.kind)  # type: ignore[arg-type]
    vehicle.kind_basis = "given" if kind else ("talk" if decided else "default")
    line_flags: dict[str, list[str]] = {}
    in_vain = [*said.unresolved, *(flaw.sentence for flaw in unheard)]
    for code, numbers in ((UNHEARD_REFERENCE, in_vain), (CONTESTED, said.contested)):
        for number in numbers:
            line_id = spoken.line_id(sentences[number].start)
            line_flags.setdefault(line_id, []).append(code)
    return Understanding(
        vehicle=vehicle,
        statements=statements,
        clean=[_clean_part(clean, spoken.words(items(clean))) for clean in said.clean],
        unmentioned=_unmentioned(rows, lexicon),
        line_flags=line_flags,
        line_clues=_line_clues(spoken, rows, doc._.hunches),
    )


def read_text(text: str, kind: Kind, extra: FileText | None = None) -> list[Statement]:
    """What one typed sentence states; its words have no times."""
    return understand(typed(text), kind, extra).statements


def typed(text: str) -> Transcript:
    """A typed sentence as the only line of a transcript, if it has words."""
    words = [Word(text=word, start_s=0.0, end_s=0.0) for word in text.split()]
    line = Line(id="typed", start_s=0.0, end_s=0.0, text=text, words=words)
    return Transcript(origin="plain_text", lines=[line] if words else [], duration_s=0.0)


def decide_kind(text: str) -> Kind | None:
    """The kind whose give-away words the talk uses most; None where it uses none."""
    spoken = f" {' '.join(pieces(text.lower()))} "
    hits: Counter[str] = Counter()
    for kind, cues in kind_cues().items():
        hits[kind] = sum(spoken.count(f" {' '.join(pieces(cue))} ") for cue in cues)
    (best, count), *_ = hits.most_common(1)
    return best if count else None  # type: ignore[return-value]


def _statement(
    spoken: Spoken, own: Sequence[Item], items: Sequence[Item], flaw: Flaw, lexicon: Lexicon
) -> Statement:
    words = spoken.words(own)
    defect = lexicon.defects[flaw.defect.id]
    severity, basis = grade(flaw.defect.id, defect.group, flaw.qualifiers, flaw.area_pct)
    return Statement(
        place=flaw.target.place,
        defect=flaw.defect.id,
        severity=severity,
        severity_basis=basis,
        count=flaw.count,
        size_mm=flaw.size_mm,
        area_pct=flaw.area_pct,
        amount_said=", ".join(flaw.amount_said) or None,
        line_id=spoken.line_id(min(item.start for item in own)),
        words=words,
        lead=[word for word in spoken.words(items) if word.start_s < words[0].start_s],
        read_as=spoken.read_as(own),
        closeness=min(item.closeness for item in items),
        notes=list(_notes(flaw, lexicon)),
        clues=flaw.clues,
    )


def _notes(flaw: Flaw, lexicon: Lexicon) -> Iterator[str]:
    """The flag codes that a flaw's own words raise."""
    place = flaw.target.place
    part = lexicon.parts.get(place.part)
    if flaw.doubted:
        yield "speaker_unsure"
    if place.part == OTHER:
        yield "unknown_part"
    never_on = lexicon.defects[flaw.defect.id].never_on
    if part and part.materials and set(part.materials) <= set(never_on):
        yield "impossible_pair"
    if part and part.one_side and place.side not in (None, part.one_side):
        yield "side_contradiction"


def _of_a_machine(flaws: Sequence[Flaw], rows: Sequence[Sequence[Item]]) -> Sequence[Flaw]:
    """The flaws, without those of unknown things where no part of a machine is ever named.

    Who never names one does not walk round a machine: "your passwords have been changed".
    """
    named = any(item.role == "part" and item.id != OTHER for row in rows for item in row)
    if named or len(rows) < _A_TALK:
        return flaws
    return [flaw for flaw in flaws if flaw.target.place.part != OTHER]


def _line_clues(
    spoken: Spoken, rows: Sequence[Sequence[Item]], hunches: Sequence[Mapping[str, float]]
) -> dict[str, dict[str, float]]:
    """For each line, by its id, the greatest hunches of its sentences, and whether one asks."""
    found: defaultdict[str, dict[str, float]] = defaultdict(dict)
    for row, clues in zip(rows, hunches, strict=True):
        asked = {"asked": 1.0} if row[-1].is_word(("?",)) else {}
        for line_id in {spoken.line_id(item.start) for item in row}:
            known = found[line_id]
            known |= {name: max(p, known.get(name, 0.0)) for name, p in {**clues, **asked}.items()}
    return found


def _clean_part(clean: Clean, words: Sequence[Word]) -> CleanPart:
    place = clean.target.place
    return CleanPart(
        part=place.part, position=place.position, side=place.side,
        start_s=words[0].start_s, end_s=words[-1].end_s,
    )  # fmt: skip


def _unmentioned(rows: Sequence[Sequence[Item]], lexicon: Lexicon) -> list[str]:
    """The parts of the kind's checklist that no item of the talk names."""
    named = {item.id for row in rows for item in row if item.role == "part"}
    return [part for part in lexicon.kind_entry.checklist if part not in named]
