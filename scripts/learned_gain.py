"""What learned readings gain: one recording is reviewed, another by the same voice heard after it.

    python scripts/learned_gain.py                 the split `check`, three recordings of each voice
    python scripts/learned_gain.py --of-each 2

A reviewer who knows the truth settles what is flagged in each recording of a voice, in turn; what
that teaches reads the next one. Prints the findings' F1 of all but the first, before and after.
"""

from collections import defaultdict
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import click
from evaluating.cases import Case, sound_cases
from evaluating.guide import decision_on
from fitting.listening import listen
from render import RENDERED

from pipeline.errors import ReviewError
from pipeline.listen.listeners import Listening
from pipeline.listen.weights import SpeechModel, load_speech_model
from pipeline.models import LEARNED, Record, Source
from pipeline.record import FILE_NAME, write_record
from pipeline.review.learned import learn, read_learned, readings, taught
from pipeline.review.questions import open_questions, with_words_as_heard
from pipeline.review.sitting import open_sitting
from pipeline.review.wordbook import Wordbook
from pipeline.score.measures import Tally
from pipeline.score.scoring import score
from pipeline.walkaround import Options, record_of
from pipeline.weigh.flags import reason

OPTIONS = Options(listening=Listening(device="cpu", threads=1))


@click.command()
@click.option("--of-each", type=click.IntRange(2), default=3, show_default=True)
def main(of_each: int) -> None:
    """Prints a row for each recording that was heard after others, and the sum."""
    models = OPTIONS.listening.load_first(), load_speech_model(None, "cpu", 1)
    by_voice = defaultdict[str, list[Case]](list)
    for case in sound_cases("check", (), None, 1):
        by_voice[str(case.truth.voice)].append(case)
    before, after = Tally(), Tally()
    for voice, cases in sorted(by_voice.items()):
        with TemporaryDirectory() as folder:
            kept = Path(folder) / "learned.json"
            for number, case in enumerate(cases[:of_each]):
                plain = _logged(case, models, OPTIONS)
                if number:
                    options = replace(OPTIONS, learned=taught(kept) if kept.exists() else ())
                    helped = _logged(case, models, options)
                    one, other = (score(case.truth, each).findings for each in (plain, helped))
                    repairs = [each for line in helped.lines for each in line.repairs]
                    met = [each for each in repairs if each.role == LEARNED]
                    click.echo(
                        f"{voice:<8}{case.name:<24}{len(options.learned):>3} readings known, "
                        f"{len(met)} met, {sum(each.taken for each in met)} taken: "
                        f"F1 {one.f1:.3f} -> {other.f1:.3f}"
                    )
                    before, after = before + one, after + other
                _review(plain, case, Path(folder) / case.name, kept)
            for reading in readings(read_learned(kept)):
                click.echo(f"    {reading.heard} -> {reading.read_as}")
    click.echo(f"all: F1 {before.f1:.3f} -> {after.f1:.3f}   {before} -> {after}")


def _logged(case: Case, models: tuple[SpeechModel, SpeechModel], options: Options) -> Record:
    """As `log_recording`; what was heard of a recording once is kept beside it."""
    heard = listen(case, *models, RENDERED / "heard")
    source = Source(
        file_name=case.name,
        sha256=case.name,
        duration_s=heard.duration_s,
        has_video=False,
        transcript_origin="recogniser",
    )
    return record_of(heard.transcript, source, options, options.listening, heard.judge(models[0]))


def _review(record: Record, case: Case, folder: Path, kept: Path) -> None:
    """Settles what is flagged, one question after the other, and keeps what that teaches."""
    folder.mkdir()
    write_record(record, folder / FILE_NAME)
    words = Wordbook()
    with open_sitting(folder, who="guide", words=words) as sitting:
        understand = sitting.understand_text
        for bare in open_questions(sitting.record, reason):
            question = with_words_as_heard(bare, understand)
            with suppress(ReviewError):  # the truth names a part that the kind's lexicon lacks
                sitting.decide(decision_on(question, sitting.record, case.truth, understand))
    learn(folder, words, kept)


if __name__ == "__main__":
    main()
