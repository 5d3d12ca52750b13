"""Says beside each published check where its value comes from: `pytest -m published` prints it."""

from collections import Counter

import pytest
from _pytest.terminal import TerminalReporter

_OUTCOMES = ("passed", "failed", "xfailed", "xpassed", "skipped", "error")
_SOURCE = "published source"


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Notes each check's source: the marker's own, or else the first line of its module."""
    for item in items:
        marker = item.get_closest_marker("published")
        if marker is not None and isinstance(item, pytest.Function):
            said = (item.module.__doc__ or "not named").strip().splitlines()[0]
            item.user_properties.append((_SOURCE, marker.args[0] if marker.args else said))


def pytest_terminal_summary(terminalreporter: TerminalReporter, config: pytest.Config) -> None:
    """One line for each check: how many values, how they came out, and the source."""
    if "published" not in (config.option.markexpr or ""):
        return
    counted: dict[tuple[str, str], Counter[str]] = {}
    for outcome in _OUTCOMES:
        for report in terminalreporter.getreports(outcome):
            source = dict(getattr(report, "user_properties", ())).get(_SOURCE)
            if source is not None:
                check = report.nodeid.partition("[")[0].removeprefix("tests/")
                counted.setdefault((check, str(source)), Counter())[outcome] += 1
    terminalreporter.section("published checks")
    for (check, source), outcomes in sorted(counted.items()):
        told = ", ".join(f"{n} {outcome}" for outcome, n in outcomes.items())
        terminalreporter.write_line(f"{told:>22}  {check}")
        terminalreporter.write_line(f"{'':>22}  {source}")
