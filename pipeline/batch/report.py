"""report.json: what became of every recording of a batch, written anew after each."""

from collections import Counter
from datetime import datetime
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, computed_field

from pipeline.errors import BatchError
from pipeline.models import Kind
from pipeline.record import write_atomically

FILE_NAME = "report.json"

# waiting: not begun or not finished. done: heard in this run. skipped: its findings were there.
# copy: another recording of the batch has the very same content. failed: `error` says why.
State = Literal["waiting", "done", "skipped", "copy", "failed"]


class Entry(BaseModel):
    """One recording. Fields are null where they do not apply or are not known yet.

    `stamp` is what told that the file is unchanged; `to_settle` counts the questions open for a
    reviewer; `wall_s` is how long a worker took; `copy_of` is the address of the other recording.
    Of one that is waiting or failed, `folder` has the findings of an earlier run.
    """

    recording: str
    state: State = "waiting"
    stamp: str | None = None
    sha256: str | None = None
    duration_s: float | None = None
    folder: str | None = None
    findings: int | None = None
    to_settle: int | None = None
    copy_of: str | None = None
    wall_s: float | None = None
    notices: list[str] = Field(default_factory=list)
    error: str | None = None


class Report(BaseModel):
    """A batch: what was run, and its recordings in the order of the queue.

    `ended_at` is null while it is going on, and for good where it was stopped. `earlier` are those
    of earlier batches with this report that this one is not about: where their findings are.
    """

    model_config = ConfigDict(populate_by_name=True)

    schema_: Literal["wearword/batch/1"] = Field(default="wearword/batch/1", alias="schema")
    program_version: str
    kind: Kind | None
    lexicon: str | None
    speech_model: str
    started_at: datetime
    ended_at: datetime | None = None
    recordings: list[Entry]
    earlier: list[Entry] = Field(default_factory=list)

    @property
    def all_entries(self) -> list[Entry]:
        """The recordings of this batch and of earlier ones."""
        return [*self.earlier, *self.recordings]

    @computed_field  # type: ignore[prop-decorator]
    @property
    def counts(self) -> dict[State, int]:
        """How many recordings are in each state."""
        return dict(Counter(entry.state for entry in self.recordings))

    def to_json(self) -> bytes:
        """The content of the file."""
        return (self.model_dump_json(by_alias=True, indent=2) + "\n").encode()


def read_report(path: Path) -> Report | None:
    """The report of an earlier run; None where there is none.

    Raises BatchError where the file cannot be read or is something else.
    """
    try:
        return Report.model_validate_json(path.read_bytes())
    except FileNotFoundError:
        return None
    except OSError as error:
        raise BatchError(f"{path}: cannot be read: {error.strerror}") from error
    except ValidationError as error:
        raise BatchError(
            f"{path}: is no report of a batch; name another file with --report"
        ) from error


def write_report(report: Report, path: Path) -> None:
    """Writes the report whole or not at all. Raises RecordError where it cannot be written."""
    write_atomically(path, report.to_json())
