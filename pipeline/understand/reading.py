"""The step itself: a transcript in, its meaning out."""

from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from spacy.tokens import Doc

from lexicon.load import Lexicon, kind_cues, load_lexicon
from pipeline.models import CleanPart, Kind, Line, Statement, Transcript, Understanding, Word
from pipeline.understand.grading import grade
from pipeline.understand.header import read_header
from pipeline.understand.nlp import pipeline, read_talk
from pipeline.understand.references import UNHEARD_REFERENCE, merge
from pipeline.understand.statements import Clean, Flaw, Said
from pipeline.understand.tokens import build_doc, pieces


def understand(
    transcript: Transcript, kind: Kind | None = None, extra: Path | None = None
) -> Understanding:
    """What a talk says: header, flaws, clean parts, and the parts nobody spoke of.

    `kind` None lets the talk decide; `extra` is a shop's own lexicon file. Raises LexiconError.
    """
    text = " ".join(line.text for line in transcript.lines if line.status != "unheard")
    decided = kind or decide_kind(text)
    lexicon = load_lexicon(decided or "motorcycle", extra)
    doc = build_doc(pipeline(lexicon.kind, extra).vocab, transcript.lines, lexicon)
    read_talk(pipeline(lexicon.kind, extra), doc)
    said: Said = doc._.said
    statements, unheard = merge(said.flaws, lambda flaw: _statement(doc, lexicon, flaw))
    vehicle = read_header([token.text for token in doc], lexicon.kind)  # type: ignore[arg-type]
    vehicle.kind_basis = "given" if kind else ("talk" if decided else "default")
    line_flags: dict[str, list[str]] = {}
    for sentence in [*said.unresolved, *(flaw.sentence for flaw in unheard)]:
        line_flags.setdefault(_line_id(doc, doc._.sentences[sentence].start), []).append(
            UNHEARD_REFERENCE
        )
    return Understanding(
        vehicle=vehicle,
        statements=statements,
        clean=[_clean_part(doc, clean) for clean in said.clean],
        unmentioned=_unmentioned(doc, lexicon),
        line_flags=line_flags,
    )


def read_text(text: str, kind: Kind, extra: Path | None = None) -> list[Statement]:
    """What one typed sentence states; its words have no times."""
    words = [Word(text=word, start_s=0.0, end_s=0.0) for word in text.split()]
    line = Line(id="typed", start_s=0.0, end_s=0.0, text=text, words=words)
    typed = Transcript(origin="plain_text", lines=[line] if words else [], duration_s=0.0)
    return understand(typed, kind, extra).statements


def decide_kind(text: str) -> Kind | None:
    """The kind whose give-away words the talk uses most; None where it uses none."""
    spoken = f" {' '.join(pieces(text.lower()))} "
    hits: Counter[str] = Counter()
    for kind, cues in kind_cues().items():
        hits[kind] = sum(spoken.count(f" {' '.join(pieces(cue))} ") for cue in cues)
    (best, count), *_ = hits.most_common(1)
    return best if count else None  # type: ignore[return-value]


def _statement(doc: Doc, lexicon: Lexicon, flaw: Flaw) -> Statement:
    row = doc._.items[flaw.sentence]
    words, line_id = _words(doc, [row[i] for i in flaw.items])
    qualifiers = flaw.qualifiers
    defect = lexicon.defects[flaw.defect.id]
    severity, basis = grade(flaw.defect.id, defect.group, qualifiers, flaw.area_pct)
    notes = list(flaw.notes)
    part = lexicon.parts.get(flaw.target.place.part)
    if flaw.doubted:
        notes.append("speaker_unsure")
    if flaw.target.place.part == "other":
        notes.append("unknown_part")
    if part and part.materials and set(part.materials) <= set(defect.never_on):
        notes.append("impossible_pair")
    if part and part.one_side and flaw.target.place.side not in (None, part.one_side):
        notes.append("side_contradiction")
    used = [row[i] for i in flaw.items]
    closeness = min((item.closeness for item in used), default=1.0)
    repaired = {item.start: item.text for item in used if item.closeness < 1}
    return Statement(
        place=flaw.target.place,
        defect=flaw.defect.id,
        severity=severity,
        severity_basis=basis,
        count=flaw.count,
        size_mm=flaw.size_mm,
        area_pct=flaw.area_pct,
        amount_said=", ".join(flaw.amount_said) or None,
        line_id=line_id,
        words=words,
        read_as=_read_as(doc, used, repaired),
        closeness=closeness,
        notes=notes,
    )


def _read_as(doc: Doc, used: Sequence[object], repaired: dict[int, str]) -> str:
    first = min(item.start for item in used)  # type: ignore[attr-defined]
    last = max(item.end for item in used)  # type: ignore[attr-defined]
    if not repaired:
        words, _ = _words_between(doc, first, last)
        return " ".join(word.text for word in words)
    return " ".join(repaired.get(i, doc[i].text) for i in range(first, last))


def _words(doc: Doc, used: Sequence[object]) -> tuple[list[Word], str]:
    first = min(item.start for item in used)  # type: ignore[attr-defined]
    last = max(item.end for item in used)  # type: ignore[attr-defined]
    return _words_between(doc, first, last)


def _words_between(doc: Doc, first: int, last: int) -> tuple[list[Word], str]:
    """The words of the transcript that tokens `first` to `last` (exclusive) come from."""
    seen = dict.fromkeys((o.line, o.word) for o in doc._.origin[first:last])
    words = [doc._.lines[line].words[word] for line, word in seen]
    return words, _line_id(doc, first)


def _line_id(doc: Doc, token: int) -> str:
    line_id: str = doc._.lines[doc._.origin[token].line].id
    return line_id


def _clean_part(doc: Doc, clean: Clean) -> CleanPart:
    row = doc._.items[clean.sentence]
    words, _ = _words(doc, [row[i] for i in clean.items])
    place = clean.target.place
    return CleanPart(
        part=place.part, position=place.position, side=place.side,
        start_s=words[0].start_s, end_s=words[-1].end_s,
    )  # fmt: skip


def _unmentioned(doc: Doc, lexicon: Lexicon) -> list[str]:
    """The parts of the kind's checklist that no item of the talk names."""
    named = {item.id for row in doc._.items for item in row if item.role == "part"}
    return [part for part in lexicon.kind_entry.checklist if part not in named]
