"""Flaws that are better asked about than stated: of a part that is called clean as well.

People do praise a tank and find a scratch on it later; so praise alone takes no flaw away. Where
the words around speak against it too (`understand/hunches.py`), a wrong finding is likelier than a
right one: the line is flagged for the reviewer in its place.

doc._.said ─► doc._.said without those flaws, but with their sentences in `contested`
"""

from collections import defaultdict

from spacy.language import Language
from spacy.tokens import Doc

from pipeline.models import Place, Position, Side
from pipeline.understand.said import Flaw, Said

# The flag code of a line whose flaw is contested.
CONTESTED = "contested"
_AGAINST = ("untold", "unlinked")

_Where = tuple[Side | None, Position | None]


@Language.component("contested", requires=["doc._.said", "doc._.hunches"], assigns=["doc._.said"])
def contested(doc: Doc) -> Doc:
    """Takes out each flaw that praise and hunch both speak against."""
    said: Said = doc._.said
    praised: defaultdict[str, set[_Where]] = defaultdict(set)
    for clean in said.clean:
        praised[clean.target.place.part].add(_where(clean.target.place))
    stated = []
    for flaw in said.flaws:
        place = flaw.target.place
        if _is_unlikely(flaw) and any(_overlap(_where(place), at) for at in praised[place.part]):
            said.contested.append(flaw.sentence)
        else:
            stated.append(flaw)
    said.flaws = stated
    return doc


def _is_unlikely(flaw: Flaw) -> bool:
    """Whether the words around tell it rather not, or not of its part; one told again stands."""
    return not flaw.referred and any(flaw.clues.get(name, 0.0) > 0.5 for name in _AGAINST)


def _where(place: Place) -> _Where:
    return place.side, place.position


def _overlap(a: _Where, b: _Where) -> bool:
    """Whether two places on a part may be one: the left mirror and "the mirror", not the right."""
    sides, positions = {a[0], b[0]}, {a[1], b[1]}
    one_side = len(sides) == 1 or None in sides or "both" in sides
    return one_side and (len(positions) == 1 or None in positions)
