"""Where the review talks with a person: single keys in a terminal, or lines from any stream."""

from collections.abc import Callable, Collection, Iterable, Iterator
from typing import Protocol, TextIO

from prompt_toolkit import PromptSession
from prompt_toolkit.completion import CompleteEvent, Completer, Completion
from prompt_toolkit.document import Document
from prompt_toolkit.input import Input
from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent
from prompt_toolkit.keys import Keys
from prompt_toolkit.output import Output, create_output
from prompt_toolkit.output.vt100 import Vt100_Output
from rich.console import Console, RenderableType

Suggest = Callable[[str], Iterable[str]]

ENTER = ""


class Terminal(Protocol):
    """What the conversation needs. Each question raises EOFError or KeyboardInterrupt at the end.

    `plain`: the reader hears or pipes the text, so it says everything in words, top to bottom.
    """

    plain: bool

    def show(self, shown: RenderableType) -> None:
        """Puts something before the reviewer."""

    def key(self, prompt: str, keys: Collection[str]) -> str:
        """One of the keys; ENTER where just Enter was pressed, which is always allowed."""

    def line(self, prompt: str, suggest: Suggest | None = None) -> str:
        """A line of text, empty where just Enter was pressed; `suggest` completes what is typed."""


class KeyTerminal:
    """A terminal in which a key acts as it is pressed, and names complete while they are typed."""

    plain = False

    def __init__(
        self, console: Console, source: Input | None = None, target: Output | None = None
    ) -> None:
        self._console = console
        self._source = source
        self._target = target or create_output()
        if isinstance(self._target, Vt100_Output):
            self._target.enable_cpr = False  # asking where the cursor is only delays short prompts

    def show(self, shown: RenderableType) -> None:
        """Prints it."""
        self._console.print(shown)

    def key(self, prompt: str, keys: Collection[str]) -> str:
        """Waits for one of the keys; others do nothing."""
        bindings = KeyBindings()

        @bindings.add(Keys.Any)
        def _typed(event: KeyPressEvent) -> None:
            if event.data in keys:
                event.app.exit(result=event.data)

        @bindings.add(Keys.Enter)
        def _enter(event: KeyPressEvent) -> None:
            event.app.exit(result=ENTER)

        @bindings.add(Keys.BracketedPaste)
        def _pasted(_event: KeyPressEvent) -> None:
            """What is pasted by mistake decides nothing."""

        session: PromptSession[str] = PromptSession(input=self._source, output=self._target)
        return session.prompt(f"{prompt} ", key_bindings=bindings)

    def line(self, prompt: str, suggest: Suggest | None = None) -> str:
        """Asks for a line, with a menu of suggestions."""
        session: PromptSession[str] = PromptSession(input=self._source, output=self._target)
        completer = _Suggestions(suggest) if suggest else None
        return session.prompt(f"{prompt}: ", completer=completer).strip()


class LineTerminal:
    """Lines from a stream: for pipes, scripts and screen readers. A key is a line of its own."""

    plain = True

    def __init__(self, console: Console, source: TextIO) -> None:
        self._console = console
        self._source = source
        self._echo = not source.isatty()  # a terminal shows what is typed by itself

    def show(self, shown: RenderableType) -> None:
        """Prints it."""
        self._console.print(shown)

    def key(self, prompt: str, keys: Collection[str]) -> str:
        """Reads lines until one is a key."""
        while True:
            typed = self.line(prompt)
            if typed in keys or typed == ENTER:
                return typed
            self._console.print(
                f"'{typed}' is no key here. Keys: Enter {' '.join(keys)}", markup=False
            )

    def line(self, prompt: str, suggest: Suggest | None = None) -> str:  # noqa: ARG002
        """Reads a line; a stream has no use for suggestions."""
        self._console.print(f"{prompt}: ", end="", markup=False)
        typed = self._source.readline()
        if self._echo:
            self._console.print(typed.strip(), markup=False)
        if not typed:
            raise EOFError
        return typed.strip()


def terminal_for(source: TextIO, *, plain: bool) -> Terminal:
    """Single keys where a person sits at a capable terminal; lines elsewhere, and if `plain`."""
    console = Console(highlight=False)
    if plain or not source.isatty() or not console.is_terminal or console.is_dumb_terminal:
        return LineTerminal(console, source)
    return KeyTerminal(console)


class _Suggestions(Completer):
    """prompt_toolkit's view of a `Suggest`."""

    def __init__(self, suggest: Suggest) -> None:
        self._suggest = suggest

    def get_completions(self, document: Document, _event: CompleteEvent) -> Iterator[Completion]:
        typed = document.text_before_cursor
        for text in self._suggest(typed):
            yield Completion(text, start_position=-len(typed))
