"""A record brought up to another understanding of its talk; what is settled stays. Pure."""

from collections.abc import Collection, Sequence

from pipeline.models import REVIEWED, Finding, Record
from pipeline.review.changes import Change, changed, free_ids, made

_OF_THE_WHOLE = ("vehicle", "clean", "unmentioned", "settings")


def changes_to(record: Record, fresh: Record) -> list[Change]:
    """What brings a record up to what its lines are understood to say now, as `fresh` has it.

    A finding that is understood again keeps its id. What a reviewer has settled stays as it is: a
    finding, one that another was merged into, and all that stands in a settled line.
    """
    closed = {line.id for line in record.lines if getattr(line, "reviewed", None) is not None}
    settled = _settled(record, closed)
    earlier = _paired(record.findings, fresh.findings)
    known = {old.id for old in earlier.values()}
    ids = free_ids(record)
    gone = (finding for finding in record.findings if finding.id not in settled | known)
    changes = [made(finding).reverse for finding in gone]
    for finding in fresh.findings:
        old = earlier.get(finding.id)
        if old is None and finding.line_id not in closed:
            changes.append(made(finding.model_copy(update={"id": next(ids)})))
        elif old is not None and old.id not in settled:
            as_before = {"id": old.id, "still": old.still}
            changes.append(changed(old, finding.model_copy(update=as_before)))
    for line, again in zip(record.lines, fresh.lines, strict=True):
        if line.id not in closed:
            changes.append(changed(line, again))
    changes.append(_of_the_whole(record, fresh, settled))
    return [change for change in changes if change.before != change.after]


def _settled(record: Record, closed: Collection[str]) -> set[str]:
    merged_into = {getattr(finding, "merged_into", None) for finding in record.findings}
    return {
        finding.id
        for finding in record.findings
        if finding.status in REVIEWED or finding.id in merged_into or finding.line_id in closed
    }


def _paired(earlier: Sequence[Finding], fresh: Sequence[Finding]) -> dict[str, Finding]:
    """By the id of a fresh finding the earlier one that says the same, the most alike first."""
    pairs = ((old, new) for old in earlier for new in fresh if _may_be_same(old, new))
    free = {old.id for old in earlier}
    found: dict[str, Finding] = {}
    for old, new in sorted(pairs, key=lambda pair: _likeness(*pair), reverse=True):
        if old.id in free and new.id not in found:
            free.remove(old.id)
            found[new.id] = old
    return found


def _may_be_same(old: Finding, new: Finding) -> bool:
    """The same words, or the same flaw in some of the same words."""
    if (old.start_s, old.end_s) == (new.start_s, new.end_s):
        return True
    return old.defect == new.defect and old.interval.overlap_s(new.interval) > 0


def _likeness(old: Finding, new: Finding) -> tuple[bool, bool, bool, float]:
    same = (old.defect == new.defect, old.part == new.part, old.side == new.side)
    return *same, old.interval.overlap_s(new.interval)


def _of_the_whole(record: Record, fresh: Record, settled: Collection[str]) -> Change:
    """The change of the record's own fields; the parts of settled findings were spoken of."""
    stand = (f for f in record.findings if f.id in settled and f.status != "struck")
    spoken_of = {finding.part for finding in stand}
    left = [part for part in fresh.unmentioned if part not in spoken_of]
    before = record.model_dump(mode="json", include=set(_OF_THE_WHOLE))
    after = fresh.model_dump(mode="json", include=set(_OF_THE_WHOLE)) | {"unmentioned": left}
    differing = [name for name in _OF_THE_WHOLE if before[name] != after[name]]
    return Change(
        of="record",
        before={name: before[name] for name in differing},
        after={name: after[name] for name in differing},
    )
