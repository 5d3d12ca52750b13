"""The command line: parses, calls, prints. Every error is one line and exit status 1."""

import getpass
import io
import json
import os
import sys
from collections.abc import Callable
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from lexicon.errors import LexiconError
from pipeline import __version__
from pipeline.errors import WearwordError

if TYPE_CHECKING:
    from pipeline.walkaround import Options

_GLANCES = 17.0  # as 1 / GLANCE_COST of weigh.flags, not imported: start-up stays light
_KINDS = ("auto", "motorcycle", "side_by_side", "snowmobile", "watercraft")


def _plain(text: str) -> str:
    from pipeline.wording import plain

    return plain(text)


def _say(text: str, err: bool = False) -> None:
    """Prints one line; what a name or a recording has put in it acts on no terminal."""
    click.echo(_plain(text), err=err)


class _Path(click.Path):
    """A path whose name can be written into a record, which the bytes of old disks cannot."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        from pipeline.wording import is_text

        path = super().convert(value, param, ctx)
        if not is_text(str(path)):
            self.fail("its name is not UTF-8; rename it", param, ctx)
        return path


_PATH = _Path(path_type=Path)


class _Commands(click.Group):
    """Turns every error of ours into one plain line, and Ctrl-C into a word."""

    def main(self, *args: Any, **kwargs: Any) -> Any:
        """Runs a command; never shows a traceback for what a user can put right."""
        kwargs["standalone_mode"] = False
        try:
            result = super().main(*args, **kwargs)
            sys.exit(result if isinstance(result, int) else 0)
        except click.ClickException as error:
            shown = io.StringIO()
            error.show(shown)
            for line in shown.getvalue().splitlines():
                _say(line, err=True)
            sys.exit(error.exit_code)
        except (click.Abort, KeyboardInterrupt):
            click.echo("Stopped; what was complete is kept.", err=True)
            sys.exit(130)
        except BrokenPipeError:
            sys.exit(1)
        except (WearwordError, LexiconError) as error:
            _say(f"wearword: {error}", err=True)
            sys.exit(1)


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="wearword")
@click.pass_context
def main(context: click.Context) -> None:
    """Turns a spoken walkaround of a used machine into a condition record.

    \b
    wearword log walkaround.mp4               hear it, write findings beside it
    wearword review walkaround.walkaround     settle what is flagged
    wearword publish walkaround.walkaround    make the page and texts
    """
    if context.invoked_subcommand != "publish":  # what is published is there to be handed on
        mask = os.umask(0o077)
        context.call_on_close(lambda: os.umask(mask))


def _lexicon_option(command: Callable[..., Any]) -> Callable[..., Any]:
    return click.option(
        "--lexicon",
        type=_PATH,
        metavar="none|FILE",
        help="Words added to ours: none, or a shop's FILE in place of your own.",
    )(command)


def _kind_option(command: Callable[..., Any]) -> Callable[..., Any]:
    return click.option(
        "--kind",
        type=click.Choice(_KINDS),
        default="auto",
        show_default=True,
        help="What sort of machine it is; auto decides from the talk.",
    )(command)


def _json_option(command: Callable[..., Any]) -> Callable[..., Any]:
    return click.option("--json", "as_json", is_flag=True, help="Print JSON for programs.")(command)


def _learned_option(command: Callable[..., Any]) -> Callable[..., Any]:
    return click.option(
        "--learned",
        metavar="none|FILE",
        help="What corrections have taught: none of it, or a shared FILE in place of your own.",
    )(command)


def _walkaround_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """How to listen and read: the command is called with `options`."""

    @wraps(command)
    def with_options(
        *,
        kind: str,
        lexicon: Path | None,
        learned: str | None,
        speech_model: str | None,
        second_model: str | None,
        adapter: str | None,
        device: Any,
        glances: float,
        **given: Any,
    ) -> Any:
        from pipeline.listen.listeners import Listening
        from pipeline.review.learned import learned_file, taught
        from pipeline.review.wordbook import lexicon_file, shop_words
        from pipeline.walkaround import Options

        options = Options(
            kind=_given(kind),
            lexicon=shop_words(lexicon_file(lexicon)),
            learned=taught(learned_file(learned)),
            glance_cost=1 / glances,
            listening=Listening(speech_model, second_model, adapter, device),
        )
        return command(options=options, **given)

    made: Callable[..., Any] = with_options
    for option in (
        click.option(
            "--device",
            type=click.Choice(("auto", "cpu", "cuda")),
            default="auto",
            show_default=True,
            help="Where the recogniser runs.",
        ),
        click.option(
            "--adapter",
            metavar="none|FILE",
            help="What teaches the default weights the trade: nothing, or another file than ours.",
        ),
        click.option(
            "--second-model",
            metavar="FOLDER|NAME",
            help="Larger speech weights to hear again what was doubtful.",
        ),
        click.option(
            "--speech-model",
            metavar="FOLDER|NAME",
            help="Other speech weights: a folder, or a name to download.",
        ),
        click.option(
            "--glances",
            type=click.FloatRange(1),
            default=_GLANCES,
            show_default=True,
            metavar="NUMBER",
            help="How many looks of a reviewer an error is worth that slips through; the more, the "
            "more is flagged. In a noisy recording an error is worth more.",
        ),
        _learned_option,
        _lexicon_option,
        _kind_option,
    ):
        made = option(made)
    return made


def _given(kind: str) -> Any:
    return None if kind == "auto" else kind


def _print_json(value: Any) -> None:
    click.echo(json.dumps(value, indent=2, default=str))  # ASCII: nothing in it acts on a terminal


@main.command()
@click.argument("recording", type=_PATH, required=False)
@click.option(
    "--transcript",
    type=_PATH,
    metavar="FILE",
    help="Read captions (.vtt, .srt, .json, .txt with [m:ss]) instead of listening.",
)
@click.option("--out", type=_PATH, metavar="FOLDER", help="Where to write; default: beside it.")
@_walkaround_options
@_json_option
def log(
    recording: Path | None,
    transcript: Path | None,
    out: Path | None,
    options: "Options",
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
    from pipeline.listen.listeners import Listening
    from pipeline.terminal import progress_bars, show_record

    if recording is None and transcript is None:
        raise click.UsageError("name a RECORDING, or captions with --transcript FILE")
    if transcript is not None and options.listening != Listening():
        raise click.UsageError(
            "models and devices have no use with --transcript: nothing is listened to"
        )
    console = Console()
    with progress_bars(Console(stderr=True), quiet=as_json) as report:
        if transcript is not None:
            logged = walkaround.log_transcript(transcript, recording, options, report)
        else:
            assert recording is not None
            logged = walkaround.log_recording(recording, options, report)
    of = recording or transcript
    assert of is not None
    record = logged.record
    saved = walkaround.save(record, out or walkaround.default_folder(of))
    for notice in logged.notices:
        _say(f"note: {notice}", err=True)
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
    """Shows how one PHRASE is read, and why; misheard words too, as in captions.

    \b
    wearword try "light pitting on the left fork"
    wearword try "the front vendor has a dent"
    """
    from rich.console import Console

    from lexicon.load import load_lexicon
    from pipeline.review.wordbook import lexicon_file, shop_words
    from pipeline.terminal import show_reading
    from pipeline.understand.reading import decide_kind, typed, understand
    from pipeline.weigh.repair import repair

    phrase, extra = _plain(phrase), shop_words(lexicon_file(lexicon))
    spoken_of = _given(kind) or decide_kind(phrase) or "motorcycle"
    read = repair(typed(phrase), load_lexicon(spoken_of, extra), extra=extra)
    statements = understand(read, spoken_of, extra).statements
    repairs = [repair for line in read.lines for repair in line.repairs]
    if as_json:
        read_as = [statement.model_dump(mode="json") for statement in statements]
        why = [repair.model_dump(mode="json") for repair in repairs]
        _print_json({"statements": read_as, "repairs": why})
    else:
        show_reading(Console(), phrase, statements, repairs)


def _user() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError):
        return "unknown"


@main.command()
@click.argument("findings", type=_PATH)
@click.option("--who", default=_user, show_default="your login", help="Name of the reviewer.")
@click.option(
    "--decisions",
    type=_PATH,
    metavar="FILE",
    help="Make the decisions of a JSON-lines file instead of asking.",
)
@click.option("--list", "list_", is_flag=True, help="Print the open questions as JSON.")
@click.option("--show", is_flag=True, help="Print the decisions made so far.")
@click.option("--plain", is_flag=True, help="Plain lines, for screen readers.")
@click.option(
    "--recording", type=_PATH, metavar="FILE", help="Where the recording is now, if it has moved."
)
@_lexicon_option
@_learned_option
def review(
    findings: Path,
    who: str,
    decisions: Path | None,
    list_: bool,
    show: bool,
    plain: bool,
    recording: Path | None,
    lexicon: Path | None,
    learned: str | None,
) -> None:
    """Settles what is flagged in FINDINGS, one question at a time.

    \b
    wearword review walkaround.walkaround
    wearword review walkaround.walkaround --list
    """
    from pipeline.record import read_record
    from pipeline.review import sitting
    from pipeline.review.learned import learn, learned_file
    from pipeline.review.moments import Moments
    from pipeline.review.prompt import review as hold
    from pipeline.review.terminal import terminal_for
    from pipeline.review.view import entry_text
    from pipeline.review.wordbook import Wordbook, lexicon_file
    from pipeline.weigh.flags import reason

    if sum((list_, show, decisions is not None)) > 1:
        raise click.UsageError("--list, --show and --decisions exclude each other")
    if list_:
        _print_json(sitting.list_questions(findings, reason))
        return
    if show:
        for entry in sitting.history(findings).entries:
            _say(entry_text(entry))
        return
    file = lexicon_file(lexicon)
    words = Wordbook.of(file)
    if decisions is not None:
        made = sitting.apply_decisions_file(findings, decisions, who=who, words=words)
        learn(findings, Wordbook.of(file), learned_file(learned))
        _say(f"{len(made)} decisions made.")
        return
    record, terminal = read_record(findings), terminal_for(sys.stdin, plain=plain)
    moments = Moments(record, findings, terminal.line, recording)
    summary = hold(
        findings,
        who=who,
        words=words,
        reason=reason,
        terminal=terminal,
        hear=moments.hear if record.source.has_recording else None,
        see=moments.see if record.source.has_video else None,
    )
    learn(findings, Wordbook.of(file), learned_file(learned))
    left = f"{summary.left} left" if summary.left else "nothing left"
    _say(f"{summary.decided} decided, {left}.")
    if not summary.left:
        _say(f"Next: wearword publish {findings}")


@main.command()
@click.argument("findings", type=_PATH)
@click.option("--out", type=_PATH, metavar="FOLDER", help="Where to write; default: published/.")
@click.option(
    "--recording", type=_PATH, metavar="FILE", help="Where the recording is now, if it has moved."
)
@click.option("--video-url", metavar="URL", help="Where the video is on the web.")
@click.option(
    "--link-pattern",
    metavar="PATTERN",
    help="How a host links to a time, with {start_s}, {end_s}, {start_whole_s}.",
)
@click.option(
    "--lead-in",
    "lead_in_s",
    type=click.FloatRange(0, 30),
    default=2.0,
    show_default=True,
    metavar="SECONDS",
    help="How long before the phrase a link begins.",
)
@click.option(
    "--units",
    type=click.Choice(("in", "mm")),
    default="in",
    show_default=True,
    help="Units of sizes in texts.",
)
@click.option(
    "--include-unconfirmed",
    is_flag=True,
    help="Also what no reviewer has settled, marked as unconfirmed.",
)
@click.option(
    "--still",
    "first_stills",
    multiple=True,
    metavar="FRAME",
    help="A flaw's better frame, by its name on the page; may be given again.",
)
@click.option("--templates", type=_PATH, metavar="FOLDER", help="A shop's own text templates.")
@_json_option
def publish(
    findings: Path,
    out: Path | None,
    recording: Path | None,
    video_url: str | None,
    link_pattern: str | None,
    lead_in_s: float,
    units: Any,
    include_unconfirmed: bool,
    first_stills: tuple[str, ...],
    templates: Path | None,
    as_json: bool,
) -> None:
    """Makes the ad writer's page, captions, table and texts from FINDINGS.

    \b
    wearword publish walkaround.walkaround
    wearword publish walkaround.walkaround --video-url https://example.org/v.mp4 --units mm
    """
    from rich.console import Console

    from pipeline.publish.folder import publish as make
    from pipeline.terminal import progress_bars

    with progress_bars(Console(stderr=True), quiet=as_json) as report:
        done = make(
            findings,
            out=out,
            recording=recording,
            video_url=video_url,
            link_pattern=link_pattern,
            lead_in_s=lead_in_s,
            units=units,
            include_unconfirmed=include_unconfirmed,
            first_stills=first_stills,
            templates=templates,
            progress=lambda share: report("taking stills", share, 1),
        )
    if as_json:
        _print_json(
            {
                "folder": str(done.folder),
                "files": [str(path) for path in done.files],
                "notices": list(done.notices),
            }
        )
        return
    for notice in done.notices:
        _say(f"note: {notice}")
    _say(f"{len(done.files)} files in {done.folder}")
    _say(f"Open {done.page}")


@main.command()
@click.argument("folder", type=_PATH)
def verify(folder: Path) -> None:
    """Tells whether anything in a published FOLDER was changed since.

    \b
    wearword verify walkaround.walkaround/published
    """
    from pipeline.publish.provenance import verify as check

    problems = check(folder)
    for problem in problems:
        _say(problem)
    if problems:
        sys.exit(1)
    _say("Unchanged since it was published.")


@main.command()
@click.argument("truth", type=_PATH)
@click.argument("findings", type=_PATH)
@_json_option
def score(truth: Path, findings: Path, as_json: bool) -> None:
    """Scores FINDINGS against a TRUTH file written by hand.

    \b
    wearword score samples/pellam.json samples/pellam.walkaround
    """
    from rich.console import Console

    from pipeline.score.scoring import score_files
    from pipeline.score.table import table, to_json

    result = score_files(truth, findings)
    if as_json:
        _print_json(to_json(result))
    else:
        Console().print(table({findings.stem: result}))


@main.group()
def lexicon() -> None:
    """Looks after the trade's words."""


@lexicon.command(name="check")
@click.argument("target", required=False)
def lexicon_check(target: str | None) -> None:
    """Lints the lexicon of a kind, or a shop's own file; with no TARGET, all of ours.

    \b
    wearword lexicon check
    wearword lexicon check shop.toml
    """
    from lexicon.load import kinds, lint

    faults = [fault for one in ([target] if target else kinds()) for fault in lint(one)]
    for fault in dict.fromkeys(faults):
        _say(fault)
    if faults:
        sys.exit(1)
    _say("In order.")


@lexicon.command()
@click.option("--forget", metavar="WORDS", help="Forget what was learned about these words.")
@click.option("--file", type=_PATH, metavar="FILE", help="A shared file instead of your own.")
@_json_option
def learned(forget: str | None, file: Path | None, as_json: bool) -> None:
    """Lists what reviewers' corrections have taught, from how many of them, and whose.

    \b
    wearword lexicon learned
    wearword lexicon learned --forget "like fitting"
    """
    from datetime import UTC, datetime

    from pipeline.review.learned import forget as drop
    from pipeline.review.learned import learned_path, read_learned, readings

    path = file or learned_path()
    if forget is not None:
        known = drop(path, forget, datetime.now(UTC))
        _say(f"Forgotten: {forget}" if known else f"Nothing was learned about '{forget}'.")
        return
    found = readings(read_learned(path))
    if as_json:
        _print_json([reading._asdict() for reading in found])
        return
    for reading in found:
        times = "once" if reading.times == 1 else f"{reading.times} times"
        _say(f"{reading.heard} -> {reading.read_as} ({times}, by {', '.join(reading.by)})")
    _say(f"Kept in {path}" if found else "Nothing learned yet; a review teaches.")


@lexicon.command()
@click.option("--forget", metavar="WORDS", help="Take these words out again.")
@click.option("--file", type=_PATH, metavar="FILE", help="A shop's file instead of your own.")
@_json_option
def words(forget: str | None, file: Path | None, as_json: bool) -> None:
    """Lists the words that reviewers, or you by hand, have added to ours.

    \b
    wearword lexicon words
    wearword lexicon words --forget "tail tidy"
    """
    from pipeline.review.wordbook import added_phrases, lexicon_path, take_out

    path = file or lexicon_path()
    if forget is not None:
        known = take_out(path, forget)
        _say(f"Forgotten: {forget}" if known else f"'{forget}' is none of the words added.")
        return
    found = added_phrases(path)
    if as_json:
        _print_json([{"phrase": phrase, "names": names} for phrase, names in found])
        return
    for phrase, names in found:
        _say(f"{phrase} -> {names}")
    _say(f"Kept in {path}" if found else "No word was added yet; e in a review does.")


# --- many recordings ----------------------------------------------------------------------------


@main.command()
@click.argument("recordings", type=_PATH, metavar="FOLDER|LIST")
@click.option(
    "--out", type=_PATH, metavar="FOLDER", help="Where findings go; default: beside each recording."
)
@click.option(
    "--report",
    "report_file",
    type=_PATH,
    metavar="FILE",
    help="Where to keep the report; default: report.json in --out or FOLDER.",
)
@click.option(
    "--jobs",
    type=click.IntRange(1),
    metavar="NUMBER",
    help="Recordings heard at once; default: as many as cores and memory allow.",
)
@click.option(
    "--memory",
    "memory_gb",
    type=click.FloatRange(0.1),
    metavar="GB",
    help="Ceiling for all processes together; default: most of what is free.",
)
@click.option("--scheduler", metavar="ADDRESS", help="Work on the Dask cluster of this scheduler.")
@_walkaround_options
@_json_option
def batch(
    recordings: Path,
    out: Path | None,
    report_file: Path | None,
    jobs: int | None,
    memory_gb: float | None,
    scheduler: str | None,
    options: "Options",
    as_json: bool,
) -> None:
    """Turns all recordings of a FOLDER, or of a LIST of paths and URLs, into findings.

    What is done already is skipped; start it again after a stop, and it goes on.

    \b
    wearword batch recordings/
    wearword batch recordings/ --out records/ --jobs 4 --memory 6
    wearword batch today.txt --out records/ --scheduler tcp://10.0.0.5:8786
    """
    from rich.console import Console

    from pipeline.batch.queue import read_queue
    from pipeline.batch.report import FILE_NAME
    from pipeline.batch.running import open_pool, run_batch
    from pipeline.batch.table import show_report, shown_progress

    if scheduler is not None and (jobs is not None or memory_gb is not None):
        raise click.UsageError("--jobs and --memory are for this machine, not for a --scheduler")
    queue = read_queue(recordings, out)
    folder = out or (recordings if recordings.is_dir() else recordings.parent)
    report_file = (report_file or folder / FILE_NAME).absolute()
    ceiling = None if memory_gb is None else int(memory_gb * 10**9)
    with (
        open_pool(scheduler, jobs, ceiling, options.listening.device) as pool,
        shown_progress(Console(stderr=True), quiet=as_json) as watch,
    ):
        report = run_batch(queue, options, pool, report_file, watch=watch)
    if as_json:
        _print_json(report.model_dump(mode="json", by_alias=True))
    else:
        show_report(Console(), report, report_file)
    if report.counts.get("failed"):
        sys.exit(1)


@main.command()
@click.argument("folders", type=_PATH, nargs=-1, metavar="[FOLDER]...")
@click.option(
    "--out",
    type=_PATH,
    metavar="FILE",
    default="ledger.duckdb",
    show_default=True,
    help="The ledger, which is made or brought up to the folders.",
)
@click.option("--csv", type=_PATH, metavar="FOLDER", help="Also write it as CSV files.")
@click.option("--parquet", type=_PATH, metavar="FOLDER", help="Also write it as Parquet files.")
@_json_option
def ledger(
    folders: tuple[Path, ...], out: Path, csv: Path | None, parquet: Path | None, as_json: bool
) -> None:
    """Gathers the findings in and below each FOLDER in one file, and answers from it.

    Open flags, common flaws, skipped areas, review time; SQL works on the file. Without a FOLDER it
    answers from what is there.

    \b
    wearword ledger records/ --out ledger.duckdb
    wearword ledger --out ledger.duckdb --csv tables/
    """
    from rich.console import Console

    from pipeline.ledger.database import add_folders, findings_folders, open_ledger, rows
    from pipeline.ledger.export import export_csv, export_parquet, shown
    from pipeline.ledger.schema import ANSWERS
    from pipeline.terminal import progress_bars

    if not folders and not out.exists():
        raise click.UsageError(f"{out}: there is no ledger yet; name a FOLDER with findings")
    found = findings_folders(folders) if folders else []
    failed: tuple[str, ...] = ()
    with open_ledger(out) as book:
        if found:
            with progress_bars(Console(stderr=True), quiet=as_json) as report:
                added = add_folders(book, found, lambda share: report("reading", share, 1))
            failed = added.failed
            _say(
                f"{added.written} added, {added.unchanged} unchanged, {added.set_aside} set aside "
                f"for findings of the same recording, {len(failed)} not readable",
                err=True,
            )
        for folder, export in ((csv, export_csv), (parquet, export_parquet)):
            if folder is not None:
                _say(f"{len(export(book, folder))} files in {folder}", err=True)
        if as_json:
            answers = {answer.name: rows(book, answer.name) for answer in ANSWERS}
            _print_json(answers)
        else:
            for answer in ANSWERS:
                Console().print(shown(book, answer), end="\n\n")
    for line in failed:
        _say(f"wearword: {line}", err=True)
    if failed:
        sys.exit(1)


if __name__ == "__main__":
    main()
