"""Kills a child process at a chosen line of the program, to see what is left on disk."""

import os
import signal
import sys
from collections.abc import Callable, Sequence
from types import CodeType, FrameType
from typing import Any


def killed_at(
    step: int, action: Callable[[], object], within: Sequence[Callable[..., Any]]
) -> bool:
    """Runs `action` in a child, killed as it reaches its `step`-th line of the functions given.

    Returns False where the action ended before that, so that a loop over steps can stop.
    """
    child = os.fork()
    if child == 0:
        _run_until(step, action, frozenset(function.__code__ for function in within))
    _, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status):
        return True
    assert os.WEXITSTATUS(status) == 0, "the action failed by itself"
    return False


def _run_until(step: int, action: Callable[[], object], codes: frozenset[CodeType]) -> None:
    seen = 0

    def trace(frame: FrameType, event: str, _arg: Any) -> Any:
        nonlocal seen
        if frame.f_code not in codes:
            return None
        if event == "line":
            seen += 1
            if seen > step:
                os.kill(os.getpid(), signal.SIGKILL)
        return trace

    code = 1
    try:
        sys.settrace(trace)
        action()
        code = 0
    finally:
        os._exit(code)
