"""The conversation: one question at a time, one key for what is common, each answer saved at once.

    Enter, a  right as it stands        t  type what was said         b  back, takes the last back
    s  strike                           o, 1-9  another reading       k  skip for now
    p  part     d  flaw                 n  not audible                q  stop (also Ctrl-C, Ctrl-D)
    g  grade    w  place                r  repeat of another          +  add a missed flaw
    m  amount                           /  several flaws in one       ?  help
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from rich.text import Text

from pipeline.errors import ReviewError
from pipeline.models import Finding, Line
from pipeline.review.choices import Choices, best_matches, in_words, read_amount, read_place
from pipeline.review.decisions import (
    Accept,
    Add,
    Amend,
    Amendment,
    Decision,
    Merge,
    NotAudible,
    Reread,
    Split,
    Strike,
    Undo,
    UnderstandText,
)
from pipeline.review.questions import Question, Reason, open_questions, question_about
from pipeline.review.sitting import Now, Sitting, open_sitting, utc_now
from pipeline.review.terminal import ENTER, Suggest, Terminal
from pipeline.review.view import finding_text, question_text, question_words
from pipeline.wording import grade_word


@dataclass(frozen=True)
class Summary:
    """What a sitting came to: decisions that stand from it, and questions still open."""

    decided: int
    left: int


@dataclass(frozen=True)
class Action:
    """What a key does. `run` gives the decision, or None where the reviewer thought better of it.

    After an action that `stays`, the question is shown again with its new state: there may be more
    to put right.
    """

    name: str
    run: Callable[["Talk", Question], Decision | None]
    of: Literal["finding", "line", "both"] = "finding"
    stays: bool = False


def review(
    path: Path,
    *,
    who: str,
    choices: Choices,
    understand_text: UnderstandText,
    reason: Reason,
    terminal: Terminal,
    now: Now = utc_now,
) -> Summary:
    """Settles what is open in a findings file (or the one in a folder), with a reviewer.

    Stopping at any time, by key, Ctrl-C or the end of input, loses nothing.

    Raises ReviewError where another review is open, where findings and journal do not belong
    together or where a decision cannot be saved; RecordError where the file cannot be read.
    """
    with open_sitting(
        path, who=who, choices=choices, understand_text=understand_text, now=now
    ) as sitting:
        talk = Talk(sitting, terminal, reason)
        try:
            talk.hold()
        except (EOFError, KeyboardInterrupt):
            terminal.show("")
        return Summary(decided=len(talk.trail_of_decisions), left=len(talk.open()))


@dataclass
class Talk:
    """The state of a conversation: which question is before the reviewer, and how he came there.

    `steps` are the targets of questions that were answered or skipped, newest last. `focus` is a
    target to stay at or to return to.
    """

    sitting: Sitting
    terminal: Terminal
    reason: Reason
    focus: str | None = None
    skipped: set[str] = field(default_factory=set)
