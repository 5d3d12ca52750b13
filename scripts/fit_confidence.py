"""Fits what repairs and confidence rest on: pipeline/weigh/data/repair.toml and confidence.toml.

    python scripts/render.py --split fit                makes the recordings
    python scripts/fit_confidence.py                    learns from all of them
    python scripts/fit_confidence.py --only fit-b-03    those of one narration, or of several
    python scripts/fit_confidence.py --dry              only print how good the fits are

Learns from the split `fit` alone: its recordings, its garbled captions, and its exact texts, in
which every repair would be wrong. What was heard is kept in rendered/heard, so that a second run is
short. Figures printed are of narrations that the model at hand has not seen.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import click
from evaluating.cases import Case, caption_cases, text_cases
from fitting.labels import gains, is_best, said_in
from fitting.listening import Listened, listen
from fitting.regression import Clues, fit, held_out
from render import RENDERED, ROOT

from lexicon.load import Lexicon, load_lexicon
from pipeline.listen.captions import read_captions
from pipeline.listen.weights import SpeechModel, load_speech_model
from pipeline.models import Settings, Source, Transcript, Word
from pipeline.score.measures import Promises
from pipeline.score.scoring import match_findings
from pipeline.score.timing import exact_transcript, timed, when
from pipeline.score.truth import Truth, read_truth
from pipeline.times import Interval
from pipeline.understand.reading import understand
from pipeline.weigh.candidates import Candidate, candidates
from pipeline.weigh.confidence import line_clues, names
from pipeline.weigh.hearing import Judge, Reading
from pipeline.weigh.logistic import Logistic, load_model
from pipeline.weigh.repair import Weighed, heard_clues, repair
from pipeline.weigh.weighing import weigh

DATA = ROOT / "pipeline" / "weigh" / "data"
SPLIT = "fit"

BY_SOUND = (
    "distance", "homophone", "length", "lacks", "partner", "fitting", "context", "called_for",
    "lost_terms", "lost_places", "odd", "english", "wanted", "several", "many", "doubt",
    "as_part", "as_defect", "as_qualifier", "as_side", "as_position",
)  # fmt: skip
HEARD = (
    "odds_by_sound", "margin", "own", "heard_own", "doubt", "least", "lost_terms", "several",
)  # fmt: skip
FINDING = (
    "doubt", "worst", "length", "misspelt", "captions", "repaired", "repair_doubt", "rival",
    "margin", "inherited", "stops", "denial", "inferred_side", "doubtful_line", "speaker_unsure", "unknown_part", "impossible_pair",
    "side_contradiction", "reference_to_unheard",
)  # fmt: skip
LINE = (
    "doubt", "worst", "low_words", "stray_flaw", "stray_part", "near_miss", "stated",
    "called_clean", "denial", "captions", "doubtful_line",
)  # fmt: skip

# How much a candidate counts: captions are few, and exact text is easier than what is garbled.
_CAPTIONS, _TEXT, _SOUND = 2.0, 0.3, 1.0
_SLACK_S = 0.2  # word times are no sharper; captions follow one another without a pause
_TAKEN = (0.2, 0.25, 0.3, 0.35, 0.4, 0.5)
_COSTS = (0.05, 0.08, 0.1, 0.12, 0.15, 0.2, 0.3)


class Heard(NamedTuple):
    """One thing to learn from: what was heard, what is true, and the sound where there is any."""

    name: str
    truth: Truth
    transcript: Transcript
    weight: float
    judge: Judge | None = None


@click.command()
@click.option("--only", multiple=True, metavar="NARRATION", help="Recordings of this one alone.")
@click.option("--jobs", type=click.IntRange(1), default=1, show_default=True)
@click.option("--dry", is_flag=True, help="Write nothing.")
def main(only: tuple[str, ...], jobs: int, dry: bool) -> None:
    """Fits the models and prints how well they do."""
    model = load_speech_model(device="cpu", threads=jobs)
    recordings = list(_recordings(only))
    listened = listen(recordings, model, RENDERED / "heard")
    heard = [*_captions(), *_texts(), *_sounds(recordings, listened, model)]
    by_sound, by_hearing = _fit_repairs(heard)
    if not dry:
        _write("repair", {"sound": by_sound, "heard": by_hearing})
    finding, line = _fit_confidence(heard)
    if not dry:
        _write("confidence", {"finding": finding, "line": line})


# --- what there is to learn from ----------------------------------------------------------------


def _recordings(only: Sequence[str]) -> Iterator[Case]:
    for path in sorted((RENDERED / SPLIT).glob("*.json")):
        if not only or _narration(path.stem) in only:
            yield Case(path.stem, read_truth(path), path.with_suffix(".ogg"))


def _captions() -> Iterator[Heard]:
    for case in caption_cases(SPLIT):
        assert case.file is not None
        yield Heard(case.name, timed(case.truth), read_captions(case.file), _CAPTIONS)


def _texts() -> Iterator[Heard]:
    for case in text_cases(SPLIT):
        yield Heard(case.name, timed(case.truth), exact_transcript(case.truth), _TEXT)


def _sounds(
    cases: Sequence[Case], listened: dict[str, Listened], model: SpeechModel
) -> Iterator[Heard]:
    for case in cases:
        own = listened[case.name]
        judge = Remembering(own.judge(model))
        yield Heard(case.name, timed(case.truth), own.transcript, _SOUND, judge)


class Remembering:
    """A judge that reads a text over a sound once: candidates are read to learn, then to use."""

    def __init__(self, judge: Judge) -> None:
        self._judge = judge
        self._known: dict[tuple[float, int, int, str], Reading] = {}

    def read(
        self, words: Sequence[Word], first: int, end: int, texts: Sequence[str]
    ) -> list[Reading]:
        """As `Judge.read`."""
        keys = [(words[first].start_s, first, end, text) for text in texts]
        new = [text for key, text in zip(keys, texts, strict=True) if key not in self._known]
        read = self._judge.read(words, first, end, new)
        if len(read) < len(new):
            return []
        self._known |= {
            (words[first].start_s, first, end, text): reading
            for text, reading in zip(new, read, strict=True)
        }
        return [self._known[key] for key in keys]


# --- repairs ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Labelled:
    """A candidate of a sentence, whether it is right, and by how many words taking it helps."""

    of: Heard
    candidate: Candidate
    right: bool
    gain: int


def _fit_repairs(heard: Sequence[Heard]) -> tuple[Logistic, Logistic]:
    """The models of candidates, before and after they are heard."""
    sentences = [sentence for one in heard for sentence in _labelled(one)]
    cases = [case for sentence in sentences for case in sentence]
    clues = [case.candidate.clues for case in cases]
    right = [case.right for case in cases]
    groups = [_narration(case.of.name) for case in cases]
    counts = [case.of.weight for case in cases]
    by_sound = fit(clues, right, BY_SOUND, counts)
    unseen = held_out(clues, right, BY_SOUND, groups, counts)
    chance = {id(case.candidate): p for case, p in zip(cases, unseen, strict=True)}
    for name, weight in (("captions", _CAPTIONS), ("exact text", _TEXT)):
        own = [sentence for sentence in sentences if sentence[0].of.weight == weight]
        _print_takings(f"{name}, by sound and context", own, chance)

    cases, clues = [], []
    for sentence in sentences:
        judge = sentence[0].of.judge
        if judge is None:
            continue
        labels = {id(case.candidate): case for case in sentence}
        weighed = [Weighed(case.candidate, chance[id(case.candidate)]) for case in sentence]
        for one, told in heard_clues(weighed, sentence[0].of.transcript.lines, judge):
            cases.append(labels[id(one.candidate)])
            clues.append(told)
    right = [case.right for case in cases]
    by_hearing = fit(clues, right, HEARD)
    unseen = held_out(clues, right, HEARD, [_narration(case.of.name) for case in cases])
    chance = {id(case.candidate): p for case, p in zip(cases, unseen, strict=True)}
    sounds = [sentence for sentence in sentences if sentence[0].of.judge is not None]
    _print_takings("recordings, heard", sounds, chance)
    return by_sound, by_hearing


def _labelled(one: Heard) -> Iterator[list[Labelled]]:
    """The candidates of each sentence of a transcript, compared with what was said in that time."""
    lines, kind = one.transcript.lines, one.truth.kind
    slack_s = _SLACK_S if one.judge is not None else -_SLACK_S
    for found in candidates(lines, load_lexicon(kind)):
        touched = [lines[candidate.line] for candidate in found]
        spoken = Interval(
            start_s=min(line.start_s for line in touched),
            end_s=max(line.end_s for line in touched),
        )
        gained = gains(found, lines, said_in(one.truth, spoken, slack_s), kind)
        best = is_best(found, gained)
        yield [Labelled(one, *case) for case in zip(found, best, gained, strict=True)]


def _narration(name: str) -> str:
    return name.partition(".")[0]


def _print_takings(
    title: str, sentences: Sequence[Sequence[Labelled]], chance: Mapping[int, float]
) -> None:
    """What would be mended and spoilt if candidates from some probability on were taken."""
    click.echo(f"\n{title}: taken from, mended, spoilt, no better")
    for threshold in _TAKEN:
        taken = [case for sentence in sentences for case in _taken(sentence, chance, threshold)]
        mended = sum(case.gain > 0 for case in taken)
        spoilt = sum(case.gain < 0 for case in taken)
        click.echo(f"{threshold:5} {mended:5} {spoilt:5} {len(taken) - mended - spoilt:5}")


def _taken(
    sentence: Sequence[Labelled], chance: Mapping[int, float], threshold: float
) -> Iterator[Labelled]:
    free = dict.fromkeys((c.candidate.line, at) for c in sentence for at in _span(c))
    for case in sorted(sentence, key=lambda c: -chance.get(id(c.candidate), 0.0)):
        own = [(case.candidate.line, at) for at in _span(case)]
        if chance.get(id(case.candidate), 0.0) >= threshold and all(at in free for at in own):
            for at in own:
                del free[at]
            yield case


def _span(case: Labelled) -> range:
    return range(case.candidate.first, case.candidate.end)


# --- confidence ---------------------------------------------------------------------------------


class Outcome(NamedTuple):
    """The clues of a finding or line, whether all was well with it, and what it came from."""

    clues: Clues
    well: bool
    group: str
    sound: bool


def _fit_confidence(heard: Sequence[Heard]) -> tuple[Logistic, Logistic]:
    """The models of findings, which are right or not, and of lines, in which flaws were missed."""
    findings: list[Outcome] = []
    lines: list[Outcome] = []
    for one in heard:
        lexicon = load_lexicon(one.truth.kind)
        repaired = repair(one.transcript, lexicon, one.judge)
        meant = understand(repaired, one.truth.kind)
        record = weigh(repaired, meant, lexicon, _source(one), _settings(lexicon))
        matching = match_findings(one.truth, record)
        right = {id(finding) for _, finding in matching.pairs}
        missed = [when(flaw) for flaw in matching.missed]
        group, sound = _narration(one.name), one.judge is not None
        findings += [
            Outcome(finding.evidence, id(finding) in right, group, sound)
            for finding in record.findings
        ]
        known = names(lexicon)
        lines += [
            Outcome(
                line_clues(line, meant, known),
                not any(flaw.overlap_s(line.interval) > 0 for flaw in missed),
                group,
                sound,
            )
            for line in repaired.lines
            if line.status != "unheard"
        ]
    return _fit_outcomes("findings", findings, FINDING), _fit_outcomes("lines", lines, LINE)


def _fit_outcomes(title: str, outcomes: Sequence[Outcome], clues: Sequence[str]) -> Logistic:
    own = [outcome.clues for outcome in outcomes]
    well = [outcome.well for outcome in outcomes]
    unseen = held_out(own, well, clues, [outcome.group for outcome in outcomes])
    for name, sound in (("recordings", True), ("text and captions", False)):
        cases = [(p, o.well) for p, o in zip(unseen, outcomes, strict=True) if o.sound == sound]
        if cases:
            _print_costs(f"{title} of {name}", cases)
    model = fit(own, well, clues)
    click.echo(", ".join(f"{clue} {weight:.2f}" for clue, weight in model.weights.items()))
    return model


def _print_costs(title: str, cases: Sequence[tuple[float, bool]]) -> None:
    """What would be flagged at each price of a glance."""
    promises = Promises(tuple(cases))
    errors = sum(not well for _, well in cases)
    click.echo(f"\n{title}: {len(cases)}, {errors} not well, ECE {promises.ece():.3f}")
    click.echo("a glance costs, share flagged, of the errors flagged, of the rest well")
    for cost in _COSTS:
        flagged = [well for p, well in cases if p < 1 - cost]
        rest = [well for p, well in cases if p >= 1 - cost]
        found = (len(flagged) - sum(flagged)) / errors if errors else 1.0
        well = sum(rest) / len(rest) if rest else 1.0
        click.echo(f"{cost:5} {len(flagged) / len(cases):7.3f} {found:7.3f} {well:7.3f}")


def _source(one: Heard) -> Source:
    return Source(
        file_name=one.name,
        sha256="0" * 64,
        duration_s=one.transcript.duration_s,
        has_video=False,
        transcript_origin=one.transcript.origin,
    )


def _settings(lexicon: Lexicon) -> Settings:
    return Settings(program_version="fit", lexicon=lexicon.kind, lexicon_version=lexicon.version)


# --- the files ----------------------------------------------------------------------------------


def _write(file: str, models: Mapping[str, Logistic]) -> None:
    """Writes models as TOML, the weightiest clues first."""
    lines = ["# Weights of clues in log odds, made by scripts/fit_confidence.py: not to be edited."]
    for name, model in models.items():
        lines += ["", f"[{name}]", f"always = {model.always:.3f}"]
        ordered = sorted(model.weights.items(), key=lambda item: -abs(item[1]))
        lines += [f"{clue} = {weight:.3f}" for clue, weight in ordered]
    (DATA / f"{file}.toml").write_text("\n".join(lines) + "\n", "utf-8")
    load_model.cache_clear()


if __name__ == "__main__":
    main()
