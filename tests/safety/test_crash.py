"""Killed, moved or locked at any file call, logging leaves old files or new ones, and goes on."""

from collections.abc import Callable
from pathlib import Path

import pytest
from crash import Tally, denied, full_disk, gone, hindered, killed

from pipeline.publish.folder import publish
from pipeline.publish.provenance import verify
from pipeline.record import write_record
from tests.safety.test_paths import told


@pytest.mark.parametrize(
    "stopped",
    [
        lambda name: killed(name, moments=3, seed=0),
        lambda name: hindered(name, gone),
        lambda name: hindered(name, denied),
        full_disk,
    ],
    ids=["killed", "gone", "denied", "full"],
)
def test_logging_at_every_file_call(stopped: Callable[[str], Tally]) -> None:
    tally = stopped("log")
    assert tally.tries > 5
    assert tally.faults == ()


@pytest.mark.xfail(
    strict=True, reason="drafts of a killed publication stay, and verify counts them"
)
def test_a_killed_publication_leaves_nothing_that_verify_would_name(tmp_path: Path) -> None:
    write_record(told(), tmp_path / "findings.json")
    published = publish(tmp_path).folder
    (published / ".page.html.x1y2z3.tmp").write_text(
        "<!doc"
    )  # as a kill before the rename leaves it
    publish(tmp_path)
    assert verify(published) == []
