"""The words for a listing: what is disclosed, long and short, and as Markdown."""

from pathlib import Path
from typing import Any

from pipeline.publish.handover import GENERAL_CAUTION, Handover, briefly
from pipeline.publish.provenance import origin, reviewed
from pipeline.publish.templating import render

TEXTS = {
    "listing.txt": "listing_long.txt.j2",
    "listing-short.txt": "listing_short.txt.j2",
    "listing.md": "listing.md.j2",
}
"""Published file -> the template it is made from."""


def listing_texts(handover: Handover, templates: Path | None = None) -> dict[str, str]:
    """Published file name to text. Raises PublishError where a shop's template is wrong."""
    context = template_context(handover)
    return {name: render(template, context, templates) for name, template in TEXTS.items()}


def template_context(handover: Handover) -> dict[str, Any]:
    """What every template may use: `h` is the handover; `briefly` names flaws in few words."""
    return {
        "h": handover,
        "briefly": briefly,
        "general_caution": GENERAL_CAUTION,
        "origin": origin(handover.record),
        "reviewed": reviewed(handover.reviewers),
    }
