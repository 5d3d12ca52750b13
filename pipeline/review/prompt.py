"""The conversation: one question at a time, one key for what is common, all saved at once."""

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from rich.text import Text

from pipeline.errors import ReviewError, WearwordError
from pipeline.models import Finding, Line
from pipeline.review.actions import ACTIONS, Asking, actions_for, numbered
from pipeline.review.decisions import Explain, Reclassify, Undo
from pipeline.review.journal import Entry, standing
from pipeline.review.questions import (
    Question,
    Reason,
    open_questions,
    question_about,
    with_words_as_heard,
)
from pipeline.review.sitting import Now, Sitting, open_sitting, utc_now
from pipeline.review.terminal import ENTER, Terminal
from pipeline.review.view import (
    anew_text,
    entry_text,
    kind_text,
    overview,
    question_text,
    question_words,
    title,
)
from pipeline.review.wordbook import Wordbook
from pipeline.times import Interval

_MOVES = {
    "b": "back: takes the last decision back",
    "k": "skip for now",
    "q": "stop; everything decided is saved",
    "?": "this help",
}
_SOUNDS = {"h": "hear it", "l": "hear it slowly", "H": "hear the whole line"}
_SIGHTS = {"v": "view it: the picture at that time"}
_SLOWLY = 0.7
_ACCEPTING = (ENTER, "a")
_FOR_A_FINDING = "Enter ok  s strike  t type  p part  d flaw  g grade  w place"
_FOR_A_LINE = "Enter no {more}flaw  t type what was said  n not audible"


Hear = Callable[[Interval, float], Path | None]
See = Callable[[float], Path | None]


class Summary(NamedTuple):
    """What a sitting came to: decisions made in it that stand, and questions still open."""

    decided: int
    left: int


class Step(NamedTuple):
    """A question that was left behind, by an answer or by a skip."""

    target: str
    skipped: bool


def review(
    path: Path,
    *,
    who: str,
    words: Wordbook,
    reason: Reason,
    terminal: Terminal,
    hear: Hear | None = None,
    see: See | None = None,
    now: Now = utc_now,
) -> Summary:
    """Settles with a reviewer what is open in a findings file, or in the one in a folder.

    `hear` plays a stretch of the recording at a speed, where that is at hand; it returns the path
    of a clip where it could only write one. `see` opens the picture at a time in the same way.

    Stopping at any time, by key, Ctrl-C or the end of input, loses nothing.

    Raises ReviewError where another review is open, where findings and journal do not belong
    together or where a decision cannot be saved; RecordError where the findings file cannot be
    read or written.
    """
    with open_sitting(path, who=who, words=words, now=now) as sitting:
        talk = Talk(sitting, terminal, reason, hear, see)
        before = len(sitting.journal.entries)
        try:
            talk.hold()
        except (EOFError, KeyboardInterrupt):
            terminal.show("")
        made = [entry for entry in standing(sitting.journal.entries) if entry.number > before]
        return Summary(decided=len(made), left=len(talk.open_questions()))


@dataclass
class Talk:
    """A conversation: the way back through it, and the question to stay at, if any."""

    sitting: Sitting
    terminal: Terminal
    reason: Reason
    hear: Hear | None = None
    see: See | None = None
    steps: list[Step] = field(default_factory=list)
    focus: str | None = None

    def hold(self) -> None:
        """Asks until nothing is open and the reviewer is content, or until he stops.

        Raises EOFError or KeyboardInterrupt where the input ends.
        """
        self._show_start()
        while True:
            question = self._question()
            key = self._ask(question) if question else self._ask_at_end()
            match key:
                case "q":
                    return
                case "b":
                    self._go_back()
                case "?":
                    self._show_help(question)
                case "k":
                    self._skip(question)
                case "h" | "l" | "H" | "v" if question:
                    self._show_moment(question, key)
                case _ if question and key in (found := numbered(question.found)):
                    self.focus = found[key].id
                case _ if question:
                    self._answer(question, key)
                case "+" | "c":  # of no question: from the last line on
                    last = self.sitting.record.lines[-1]
                    self._answer(question_about(self.sitting.record, last, self.reason), key)
                case _:
                    return

    def _show_start(self) -> None:
        if self.sitting.journal.torn:
            self._say("An earlier sitting was cut off while it saved; its last answer was lost.")
        if guess := kind_text(self.sitting.record.vehicle):
            self._say(guess)
        if waiting := self.open_questions():
            self._say(overview(waiting))

    def open_questions(self) -> list[Question]:
        """All that is open, skipped or not."""
        return open_questions(self.sitting.record, self.reason)

    def _question(self) -> Question | None:
        question = self._next()
        understand_text = self.sitting.understand_text
        return question and with_words_as_heard(question, understand_text)

    def _next(self) -> Question | None:
        record = self.sitting.record
        items: list[Finding | Line] = [*record.findings, *record.lines]
        focused = next((item for item in items if item.id == self.focus), None)
        if focused:
            return question_about(record, focused, self.reason)
        skipped = {step.target for step in self.steps if step.skipped}
        return next((q for q in self.open_questions() if q.target not in skipped), None)

    def _ask(self, question: Question) -> str:
        left = len(self.open_questions())
        keys = [*actions_for(question), *numbered(question.found), *_MOVES]
        keys += [*(_SOUNDS if self.hear else ()), *(_SIGHTS if self.see else ())]
        if self.terminal.plain:
            self.terminal.show(question_words(question, left))
            return self.terminal.key("Key, ? for help", keys)
        self.terminal.show(question_text(question, left))
        for_a_line = _FOR_A_LINE.format(more="other " if question.found else "")
        common = _FOR_A_FINDING if question.finding else for_a_line
        return self.terminal.key(f"{common}{'  h hear' if self.hear else ''}  ? more", keys)

    def _ask_at_end(self) -> str:
        left = len(self.open_questions())
        add, plus = (", + adds a missed flaw", "+c") if self.sitting.record.lines else ("", "")
        if not left:
            self._say("\nEverything is settled.")
            return self.terminal.key(f"Enter ends{add}, b goes back", f"bq{plus}")
        self._say(f"\n{left} skipped and still open.")
        keys = f"bqk{plus}"
        return self.terminal.key(f"Enter ends{add}, k shows the skipped, b goes back", keys)

    def _answer(self, question: Question, key: str) -> None:
        action = actions_for(question)[key]
        if key in _ACCEPTING and question.finding and question.finding.status != "flagged":
            self.focus = None  # it was settled by an amendment before; Enter only goes on
            return
        sitting = self.sitting
        asking = Asking(
            self.terminal, sitting.choices, sitting.understand_text, sitting.record, question
        )
        decisions = action.decide(asking)
        if not decisions:
            return
        try:
            entries = sitting.decide(*decisions)
        except ReviewError as error:
            self._say(str(error))
            return
        self.steps += [Step(question.target, skipped=False) for _ in entries]
        self.focus = _stay_at(question, entries[0]) if action.stays else None
        if not action.stays:
            self._say(f"{question.target}: {action.done}")
        for entry in entries:
            if isinstance(entry.decision, Explain | Reclassify):
                self._say(anew_text(entry))

    def _skip(self, question: Question | None) -> None:
        if question:
            self.steps.append(Step(question.target, skipped=True))
            self.focus = None
        else:
            self.steps = [step for step in self.steps if not step.skipped]

    def _go_back(self) -> None:
        step = self.steps.pop() if self.steps else None
        if step and step.skipped:
            self.focus = step.target
            return
        stand = standing(self.sitting.journal.entries)
        if not stand:
            self._say("This is the start; there is nothing to take back.")
            return
        self.sitting.decide(Undo(number=stand[-1].number))
        self.focus = getattr(stand[-1].decision, "target", None)
        self._say(f"Taken back: {entry_text(stand[-1])}")

    def _show_moment(self, question: Question, key: str) -> None:
        """Plays or shows what was recorded; these keys are offered only where that can be done."""
        try:
            if key == "v" and self.see:
                written = self.see((question.at_s + question.end_s) / 2)
                done, instead = "Opened.", "There is no display; the picture is"
            elif self.hear:
                of_line = question.line if key == "H" else None
                phrase = Interval(start_s=question.at_s, end_s=question.end_s)
                interval = of_line.interval if of_line else phrase
                written = self.hear(interval, _SLOWLY if key == "l" else 1.0)
                done, instead = "Playing.", "There is no sound device; the clip is"
            else:
                return
        except WearwordError as error:
            self._say(str(error))
            return
        self._say(f"{instead} {written}" if written else done)

    def _show_help(self, question: Question | None) -> None:
        actions = actions_for(question) if question else ACTIONS
        names = {key or "Enter": action.name for key, action in actions.items()} | _MOVES
        names |= (_SOUNDS if self.hear else {}) | (_SIGHTS if self.see else {})
        for digit, finding in numbered(question.found if question else ()).items():
            names[digit] = f"look at {title(finding)}"
        for key, name in names.items():
            self._say(f"  {key:<6}{name}")

    def _say(self, text: str) -> None:
        self.terminal.show(Text(text))


def _stay_at(question: Question, entry: Entry) -> str:
    """The question itself; of a line, the first finding that was made of it."""
    made = [change.id for change in entry.changes if change.of == "finding" and not change.before]
    anew = isinstance(entry.decision, Explain | Reclassify)  # these are made all over the talk
    return made[0] if made and made[0] and not (question.finding or anew) else question.target
