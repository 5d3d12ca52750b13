"""The command line: parses, calls, prints. Every error is one line and exit status 1."""

import getpass
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from pipeline import __version__
from pipeline.errors import WearwordError

_KINDS = ("auto", "motorcycle", "side_by_side", "snowmobile", "watercraft")
_PATH = click.Path(path_type=Path)


class _Commands(click.Group):
    """Turns every error of ours into one plain line, and Ctrl-C into a word."""

    def main(self, *args: Any, **kwargs: Any) -> Any:
        """Runs a command; never shows a traceback for what a user can put right."""
        kwargs["standalone_mode"] = False
        try:
            result = super().main(*args, **kwargs)
            sys.exit(result if isinstance(result, int) else 0)
        except click.ClickException as error:
            error.show()
            sys.exit(error.exit_code)
        except (click.Abort, KeyboardInterrupt):
            click.echo("Stopped; what was complete is kept.", err=True)
            sys.exit(130)
        except BrokenPipeError:
            sys.exit(1)
        except WearwordError as error:
            click.echo(f"wearword: {error}", err=True)
            sys.exit(1)


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="wearword")
def main() -> None:
    """Turns a spoken walkaround of a used machine into a condition record.

    \b
    wearword log walkaround.mp4               hear it, write findings beside it
    wearword review walkaround.walkaround     settle what is flagged
    wearword publish walkaround.walkaround    make the page and texts
    """


def _lexicon_option(command: Callable[..., Any]) -> Callable[..., Any]:
    return click.option(
        "--lexicon", type=_PATH, metavar="EXTRA.toml", help="A shop's own words, added to ours."
    )(command)


def _kind_option(command: Callable[..., Any]) -> Callable[..., Any]:
    return click.option(
        "--kind", type=click.Choice(_KINDS), default="auto", show_default=True,
        help="What sort of machine it is; auto decides from the talk.",
    )(command)  # fmt: skip


def _json_option(command: Callable[..., Any]) -> Callable[..., Any]:
    return click.option("--json", "as_json", is_flag=True, help="Print JSON for programs.")(command)


def _given(kind: str) -> Any:
    return None if kind == "auto" else kind


def _print_json(value: Any) -> None:
    click.echo(json.dumps(value, ensure_ascii=False, indent=2))


@main.command()
@click.argument("recording", type=_PATH, required=False)
@click.option("--transcript", type=_PATH, metavar="FILE",
              help="Read captions (.vtt, .srt, .json, .txt with [m:ss]) instead of listening.")  # fmt: skip
@click.option("--out", type=_PATH, metavar="FOLDER", help="Where to write; default: beside it.")
@_kind_option
@_lexicon_option
@click.option("--speech-model", metavar="FOLDER|NAME",
              help="Other speech weights: a folder, or a name to download.")  # fmt: skip
@click.option("--device", type=click.Choice(("auto", "cpu", "cuda")), default="auto",
              show_default=True, help="Where the recogniser runs.")  # fmt: skip
@_json_option
def log(
    recording: Path | None,
    transcript: Path | None,
    out: Path | None,
    kind: str,
    lexicon: Path | None,
    speech_model: str | None,
    device: Any,
    as_json: bool,
) -> None:
    """Turns RECORDING (video or audio) into a findings file.

    \b
    wearword log walkaround.mp4
    wearword log walkaround.mp4 --kind snowmobile --out records/4471
    wearword log --transcript captions.vtt walkaround.mp4
    """
    from rich.console import Console

    from pipeline import walkaround
    from pipeline.terminal import progress_bars, show_record

    if recording is None and transcript is None:
        raise click.UsageError("name a RECORDING, or captions with --transcript FILE")
    if transcript is not None and speech_model is not None:
        raise click.UsageError("--speech-model has no use with --transcript: nothing is listened to")
    options = walkaround.Options(
        kind=_given(kind), lexicon=lexicon, speech_model=speech_model, device=device
    )
    console = Console()
    with progress_bars(Console(stderr=True), quiet=as_json) as report:
        if transcript is not None:
            record = walkaround.log_transcript(transcript, recording, options, report)
        else:
            assert recording is not None
            record = walkaround.log_recording(recording, options, report)
    of = recording or transcript
    assert of is not None
    saved = walkaround.save(record, out or walkaround.default_folder(of))
    if as_json:
        _print_json({"folder": str(saved.folder), **record.to_json()})
    else:
        show_record(console, record, saved)


@main.command(name="try")
@click.argument("phrase")
@_kind_option
@_lexicon_option
@_json_option
def try_(phrase: str, kind: str, lexicon: Path | None, as_json: bool) -> None:
    """Shows how one PHRASE is read, and why.

    \b
    wearword try "light pitting on the left fork"
    """
    from rich.console import Console

    from pipeline.terminal import show_reading
    from pipeline.understand.reading import decide_kind, read_text

    statements = read_text(phrase, _given(kind) or decide_kind(phrase) or "motorcycle", lexicon)
    if as_json:
        _print_json([statement.model_dump(mode="json") for statement in statements])
    else:
        show_reading(Console(), phrase, statements)


def _user() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError):
        return "unknown"


if __name__ == "__main__":
    main()
