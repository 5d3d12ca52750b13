"""The spaCy pipeline of our own components, in the order in which the talk is read."""

from collections.abc import Sequence
from functools import lru_cache

import spacy
from spacy.language import Language
from spacy.tokens import Doc

from lexicon.load import FileText, Lexicon
from pipeline.models import Line

# Imported so that each registers its component.
from pipeline.understand import (
    amounts,
    contested,
    corrections,
    hunches,
    mood,
    naming,
    places,
    praise,
    seeming,
    statements,
    terms,
    tokens,
)
from pipeline.understand.tokens import build_doc

COMPONENTS = (
    "sentences", "terms", "amounts", "corrections", "places", "praise", "mood", "seeming",
    "naming", "statements", "hunches", "contested",
)  # fmt: skip
_REGISTERS = (
    tokens, terms, amounts, corrections, places, praise, mood, seeming,
    naming, statements, hunches, contested,
)  # fmt: skip


@lru_cache(maxsize=8)
def pipeline(kind: str, extra: FileText | None) -> Language:
    """The assembled components for a kind of machine and a shop's own words.

    Raises LexiconError as `lexicon.load` does.
    """
    nlp = spacy.blank("en")
    for name in COMPONENTS:
        config = {"kind": kind, "extra": extra} if name == "terms" else {}
        nlp.add_pipe(name, config=config)
    return nlp


def read_lines(lines: Sequence[Line], lexicon: Lexicon, extra: FileText | None) -> Doc:
    """The lines of a talk with all that the components read off them.

    Raises LexiconError as `lexicon.load` does.
    """
    nlp = pipeline(lexicon.kind, extra)
    doc = build_doc(nlp.vocab, lines, lexicon)
    for _, component in nlp.pipeline:
        doc = component(doc)
    return doc


def missing_requirements(names: Sequence[str] = COMPONENTS) -> list[str]:
    """What a component requires and none before it assigns; empty where the order is right."""
    assigned: set[str] = set()
    missing = []
    for name in names:
        meta = Language.get_factory_meta(name)
        missing += [f"{name}: {need}" for need in meta.requires if need not in assigned]
        assigned.update(meta.assigns)
    return missing
