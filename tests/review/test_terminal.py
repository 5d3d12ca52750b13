"""pipeline/review/terminal.py: keys and lines come in, from a person's terminal or a stream."""

from collections.abc import Iterator
from io import StringIO

import pytest
from prompt_toolkit.completion import CompleteEvent
from prompt_toolkit.document import Document
from prompt_toolkit.input import PipeInput, create_pipe_input
from prompt_toolkit.output import DummyOutput
from rich.console import Console

from pipeline.review.terminal import ENTER, KeyTerminal, LineTerminal, _Suggestions, terminal_for


class Screen(StringIO):
    """A stream that says whether it is a terminal."""

    def __init__(self, text: str = "", *, is_terminal: bool = True) -> None:
        super().__init__(text)
        self._is_terminal = is_terminal

    def isatty(self) -> bool:
        return self._is_terminal


@pytest.fixture
def typed() -> Iterator[PipeInput]:
    """The keyboard of a terminal."""
    with create_pipe_input() as pipe:
        yield pipe


@pytest.fixture
def terminal(typed: PipeInput) -> KeyTerminal:
    """A terminal whose screen nobody sees."""
    return KeyTerminal(Console(file=StringIO()), typed, DummyOutput())


@pytest.mark.parametrize(
    ("sent", "key"),
    [
        ("s", "s"),
        ("\r", ENTER),
        ("xyzs", "s"),
        ("?", "?"),
        ("\x1b[200~s\x1b[201~\r", ENTER),
        ("\x1b[As", "s"),
    ],
    ids=["a key", "enter", "other keys do nothing", "a sign", "pasting decides nothing", "arrow"],
)
def test_a_key_acts_as_it_is_pressed(
    typed: PipeInput, terminal: KeyTerminal, sent: str, key: str
) -> None:
    typed.send_text(sent)
    assert terminal.key("Key", "s?") == key


def test_keys_typed_ahead_are_kept(typed: PipeInput, terminal: KeyTerminal) -> None:
    typed.send_text("smirror\r\r")
    assert [terminal.key("Key", "s"), terminal.line("Part"), terminal.key("Key", "s")] == [
        "s", "mirror", ENTER,
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("sent", "error"), [("\x03", KeyboardInterrupt), ("\x04", EOFError)], ids=["Ctrl-C", "Ctrl-D"]
)
def test_the_end_is_told(
    typed: PipeInput, terminal: KeyTerminal, sent: str, error: type[BaseException]
) -> None:
    typed.send_text(sent * 2)
    with pytest.raises(error):
        terminal.key("Key", "s")
    with pytest.raises(error):
        terminal.line("Part")


def test_names_are_suggested() -> None:
    suggestions = _Suggestions(lambda text: [f"{text}ror", "other"])
    found = list(suggestions.get_completions(Document("mir"), CompleteEvent()))
    assert [(item.text, item.start_position) for item in found] == [("mirror", -3), ("other", -3)]


def test_a_stream_gives_keys_and_lines() -> None:
    shown = StringIO()
    terminal = LineTerminal(Console(file=shown, width=80), Screen("s\n\nx\n ?\n[b] tank \n"))
    assert [terminal.key("Key", "s?") for _ in range(3)] == ["s", ENTER, "?"]
    assert terminal.line("What was said") == "[b] tank"
    assert "'x' is no key here. Keys: Enter s ?" in shown.getvalue()
    with pytest.raises(EOFError):
        terminal.key("Key", "s")


@pytest.mark.parametrize(("is_terminal", "echoed"), [(True, False), (False, True)])
def test_what_no_terminal_has_shown_is_echoed(is_terminal: bool, echoed: bool) -> None:
    shown = StringIO()
    terminal = LineTerminal(Console(file=shown), Screen("tank\n", is_terminal=is_terminal))
    terminal.line("Part")
    assert ("tank" in shown.getvalue()) is echoed


def test_single_keys_need_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    assert isinstance(terminal_for(Screen(is_terminal=False), plain=False), LineTerminal)
    assert isinstance(terminal_for(Screen(), plain=True), LineTerminal)
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.setenv("TERM", "xterm")
    assert isinstance(terminal_for(Screen(), plain=False), KeyTerminal)
    monkeypatch.setenv("TERM", "dumb")
    assert isinstance(terminal_for(Screen(), plain=False), LineTerminal)
