"""The publish step itself: a findings file in, a folder that an ad writer can work from out."""

import json
import math
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePath

from lexicon.load import load_lexicon
from pipeline import wording
from pipeline.errors import PublishError
from pipeline.listen.media import Progress, digest
from pipeline.models import Record
from pipeline.publish.captions import captions, chapter_text, chapters, chapters_vtt
from pipeline.publish.handover import Handover, prepare, with_lines_seen
from pipeline.publish.linked_data import annotations, json_text, listing_data
from pipeline.publish.links import Linker, checked_address, relative_address
from pipeline.publish.listing import listing_texts
from pipeline.publish.page import Picture, page
from pipeline.publish.provenance import (
    MANIFEST,
    FileDigest,
    manifest_bytes,
    manifest_of,
    read_manifest,
    read_reviewers,
)
from pipeline.publish.stills import Still, take_stills
from pipeline.publish.table import table
from pipeline.record import drafts, is_file, read_record, write_atomically
from pipeline.record import findings_path as findings_file
from pipeline.review.clips import recording_of
from pipeline.wording import Units

FOLDER = "published"
PAGE = "page.html"


@dataclass(frozen=True)
class Published:
    """What was written, and plain lines on what the outputs lack; none where they lack nothing."""

    folder: Path
    files: tuple[Path, ...]
    notices: tuple[str, ...]

    @property
    def page(self) -> Path:
        """The page to open."""
        return self.folder / PAGE


def publish(
    findings_path: Path,
    *,
    out: Path | None = None,
    recording: Path | None = None,
    video_url: str | None = None,
    link_pattern: str | None = None,
    lead_in_s: float = 2.0,
    units: Units = "in",
    include_unconfirmed: bool = False,
    first_stills: Sequence[str] = (),
    templates: Path | None = None,
    progress: Progress | None = None,
) -> Published:
    """Publishes a findings file (or the one in a folder) into `out`, by default `published` beside.

    The recording is looked for beside the findings file and in the folder above, unless `recording`
    says where it is; stills come from it, and the page plays it unless `video_url` says where it is
    on the web. Links begin `lead_in_s` seconds before a phrase and follow W3C Media Fragments, or
    `link_pattern` with {start_s}, {end_s}, {start_whole_s}, {end_whole_s}. Of a flaw's frames the
    one named in `first_stills` ("F001-14.600s.jpg") is shown first. Templates in `templates` stand
    in for ours.
    Files of an earlier publication into the same folder that are no longer made are removed.

    Raises PublishError where an option is wrong, the recording is another one than was logged, or
    the folder holds other things; ReviewError where the named recording is another one; RecordError
    where the findings file or the disk refuses.
    """
    if not 0 <= lead_in_s < math.inf:
        raise PublishError(f"a lead-in of {lead_in_s:g} s cannot be; give 0 or more seconds")
    if templates is not None and not templates.is_dir():
        raise PublishError(f"{templates}: is no folder of templates")
    findings = findings_file(findings_path)
    record = with_lines_seen(read_record(findings))
    folder = out or findings.parent / FOLDER
    earlier = _earlier_files(folder)
    recording = _recording(findings, record, recording)
    lexicon = load_lexicon(record.vehicle.kind)
    handover = prepare(
        record,
        parts=lexicon.parts,
        defects=lexicon.defects,
        linker=Linker(
            media=checked_address(video_url) if video_url else _relative(recording, folder),
            pattern=link_pattern,
            lead_in_s=lead_in_s,
            duration_s=record.source.duration_s,
        ),
        units=units,
        include_unconfirmed=include_unconfirmed,
        reviewers=read_reviewers(findings),
    )
    stills: dict[str, list[Still]] = {}
    if recording and record.source.has_video:
        phrases = {flaw.finding.id: flaw.finding.interval for flaw in handover.flaws}
        stills = take_stills(recording, phrases, progress)
    pictures = _pictures(handover, stills, first_stills)
    files = _files(handover, pictures, templates)
    manifest = manifest_of(
        record,
        reviewers=handover.reviewers,
        findings=FileDigest(path=_relative_path(findings, folder), sha256=digest(findings)),
        recording=FileDigest(path=_relative_path(recording, folder), sha256=record.source.sha256)
        if recording
        else None,
        files=files,
    )
    written = _write(folder, {**files, MANIFEST: manifest_bytes(manifest)}, earlier)
    return Published(
        folder=folder, files=written, notices=tuple(_notices(handover, recording, stills))
    )


def _recording(findings: Path, record: Record, named: Path | None) -> Path | None:
    """The recording, where it is at hand. Raises PublishError where the file is another one."""
    source = record.source
    if not source.has_recording:
        if named is not None:
            raise PublishError(f"{findings}: was made from captions alone, so it has no recording")
        return None
    path = recording_of(record, findings, moved_to=named)
    if path is not None and named is None and digest(path) != source.sha256:
        raise PublishError(
            f"{path}: is not the recording that was logged (its digest differs); "
            "name the right one with --recording, or log this one"
        )
    return path


def _relative(path: Path | None, folder: Path) -> str | None:
    return None if path is None else relative_address(PurePath(_relative_path(path, folder)))


def _relative_path(path: Path, folder: Path) -> str:
    return PurePath(os.path.relpath(path.resolve(), folder.resolve())).as_posix()


def _files(
    handover: Handover, pictures: Mapping[str, Sequence[Picture]], templates: Path | None
) -> dict[str, bytes]:
    """Every file to publish: path in the folder -> content."""
    record = handover.record
    marks = chapters(handover)
    texts = listing_texts(handover, templates)
    if chapter_list := chapter_text(marks):
        texts["chapters.txt"] = chapter_list
    subtitles = captions(record.lines)
    chapter_marks = chapters_vtt(marks, record.source.duration_s)
    written = {
        PAGE: page(
            handover,
            pictures=pictures,
            captions=subtitles,
            chapters=chapter_marks,
            texts=texts,
            templates=templates,
        ),
        **texts,
        "captions.vtt": subtitles,
        "chapters.vtt": chapter_marks,
        "listing.jsonld": json_text(listing_data(handover)),
        "annotations.jsonld": json_text(annotations(handover)),
        "flaws.csv": table(handover),
        "stills.json": _stills_index(pictures),
    }
    images = {
        path: content
        for shown in pictures.values()
        for picture in shown
        for path, content in (
            (picture.file, picture.jpeg),
            (picture.thumbnail_file, picture.thumbnail),
        )
    }
    return {name: text.encode() for name, text in written.items() if text} | images


def _pictures(
    handover: Handover, stills: Mapping[str, Sequence[Still]], first: Sequence[str]
) -> dict[str, list[Picture]]:
    """Each flaw's stills under their names, those chosen (also by the finding's `still`) first.

    Raises PublishError where a name in `first` is no still's.
    """
    wanted = {PurePath(name).name for name in first}
    pictures = {}
    for flaw in handover.flaws:
        chosen = wanted | {PurePath(flaw.finding.still or "").name}
        found = [Picture.of(flaw, still) for still in stills.get(flaw.finding.id, [])]
        found.sort(key=lambda picture: PurePath(picture.file).name not in chosen)
        pictures[flaw.finding.id] = found
    names = {PurePath(picture.file).name for found in pictures.values() for picture in found}
    for name in sorted(wanted - names):
        raise PublishError(f"{name}: is no still; the page names those there are at Other frames")
    return pictures


def _stills_index(pictures: Mapping[str, Sequence[Picture]]) -> str:
    """Which frame is whose, and exactly when it is shown; the chosen one of a finding is first."""
    index = {
        finding: [
            {"file": shown.file, "thumbnail": shown.thumbnail_file, "time_s": shown.time_s}
            for shown in found
        ]
        for finding, found in pictures.items()
        if found
    }
    return json.dumps(index, indent=2) if index else ""


def _earlier_files(folder: Path) -> list[Path]:
    """Files of an earlier publication. Raises PublishError where the folder holds anything else."""
    if folder.is_symlink():
        raise PublishError(f"{folder}: is a link; name the folder that it points to instead")
    if not folder.exists():
        return []
    if not folder.is_dir():
        raise PublishError(f"{folder}: is no folder; name one to publish into")
    if not any(folder.iterdir()):
        return []
    if not (folder / MANIFEST).exists():
        raise PublishError(f"{folder}: holds other things; name an empty or a new folder")
    paths = [folder / entry.path for entry in read_manifest(folder).files]
    root = folder.resolve()
    return [path for path in paths if is_file(path) and path.resolve().is_relative_to(root)]


def _write(folder: Path, files: Mapping[str, bytes], earlier: Sequence[Path]) -> tuple[Path, ...]:
    """Writes every file, the manifest last, and removes what an earlier publication left over."""
    paths = {folder / name: content for name, content in files.items()}
    try:
        for path in paths:
            if path.parent.is_symlink():
                raise PublishError(f"{path.parent}: is a link; put a folder in its place")
            path.parent.mkdir(parents=True, exist_ok=True)
        for path in earlier:
            if path not in paths:
                path.unlink(missing_ok=True)
        for draft in (left for path in {*earlier, *paths} for left in drafts(path)):
            draft.unlink(missing_ok=True)
    except OSError as error:
        raise PublishError(f"{folder}: cannot be written: {error.strerror}") from error
    for path, content in paths.items():
        write_atomically(path, content)
    return tuple(paths)


def _notices(
    handover: Handover, recording: Path | None, stills: Mapping[str, Sequence[Still]]
) -> list[str]:
    notices = []
    source = handover.record.source
    if handover.withheld:
        left_out = wording.counted(handover.withheld, "unreviewed finding")
        notices.append(f"{left_out} left out; settle with `wearword review`")
    if handover.unconfirmed:
        told = wording.counted(handover.unconfirmed, "unreviewed finding")
        notices.append(f"{told} published, marked as unconfirmed")
    if recording is None and source.has_video:
        notices.append(
            f"the recording {source.file_name} is not beside the findings file: no stills; "
            "name it with --recording"
        )
    bare = [name for name, found in stills.items() if not found]
    if bare:
        notices.append(f"the video shows nothing at {', '.join(bare)}: no still there")
    return notices
