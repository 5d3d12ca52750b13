"""Fits which readings of misheard words to take: another listener's, and those that sound alike."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import click
from evaluating.cases import Case

from fitting.labels import distance_from, gains, is_best, said_in
from fitting.listening import Listened
from fitting.material import CAPTIONS, TEXT, Heard, narration
from fitting.regression import fit, held_out
from lexicon.load import load_lexicon
from pipeline.logistic import Logistic
from pipeline.times import Interval
from pipeline.weigh.again import again_clues, differences, lies_in, trade_words
from pipeline.weigh.candidates import Candidate, candidates
from pipeline.weigh.repair import Weighed, heard_clues

AGAIN = ("doubt", "worst", "other_doubt", "other_worst", "distance", "dropped")
BY_SOUND = (
    "distance", "homophone", "length", "lacks", "partner", "fitting", "context", "called_for",
    "lost_terms", "lost_places", "odd", "english", "wanted", "several", "many", "doubt",
    "as_part", "as_defect", "as_qualifier", "as_side", "as_position", "likelier",
)  # fmt: skip
HEARD = (
    "odds_by_sound", "margin", "own", "heard_own", "doubt", "least", "lost_terms", "several",
    "english", "usual", "likelier",
)  # fmt: skip

_SLACK_S = 0.2  # word times are no sharper; captions follow one another without a pause
_TAKEN = (0.2, 0.25, 0.3, 0.35, 0.4, 0.5, 0.6)


def fit_again(listened: Iterable[tuple[Case, Listened]]) -> Logistic:
    """The model of words that a second listener hears otherwise."""
    clues, gained, groups = [], [], []
    for case, own in listened:
        kind = case.truth.kind
        trade = trade_words(load_lexicon(kind))
        for at in own.chosen:
            line = own.transcript.lines[at]
            said = said_in(case.truth, line.interval, -_SLACK_S)
            words = [word.text for word in line.words]
            before = distance_from(said, words, kind)
            again = [word for word in own.again if lies_in(word, line.interval)]
            for told in differences(line.words, again) if again else ():
                if not told.names_any(trade):
                    continue
                new = [word.text for word in told.again]
                changed = [*words[: told.first], *new, *words[told.end :]]
                clues.append(again_clues(told.heard, told.again))
                gained.append(before - distance_from(said, changed, kind))
                groups.append(narration(case.name))
    right = [gain > 0 for gain in gained]
    unseen = held_out(clues, right, AGAIN, groups)
    click.echo("\nlistened again: taken from, mended, spoilt, no better")
    for threshold in (0.0, *_TAKEN):
        _print_share(threshold, [g for g, p in zip(gained, unseen, strict=True) if p >= threshold])
    return fit(clues, right, AGAIN)


def _print_share(threshold: float, gained: Sequence[int]) -> None:
    mended, spoilt = sum(gain > 0 for gain in gained), sum(gain < 0 for gain in gained)
    click.echo(f"{threshold:5} {mended:5} {spoilt:5} {len(gained) - mended - spoilt:5}")


@dataclass(frozen=True)
class Labelled:
    """A candidate of a sentence, whether it is right, and by how many words taking it helps."""

    of: Heard
    candidate: Candidate
    right: bool
    gain: int


def fit_repairs(heard: Sequence[Heard]) -> tuple[Logistic, Logistic]:
    """The models of candidates, before and after they are heard."""
    sentences = [sentence for one in heard for sentence in _labelled(one)]
    cases = [case for sentence in sentences for case in sentence]
    clues = [case.candidate.clues for case in cases]
    right = [case.right for case in cases]
    groups = [case.of.narration for case in cases]
    counts = [case.of.weight for case in cases]
    by_sound = fit(clues, right, BY_SOUND, counts)
    unseen = held_out(clues, right, BY_SOUND, groups, counts)
    chance = {id(case.candidate): p for case, p in zip(cases, unseen, strict=True)}
    for name, weight in (("captions", CAPTIONS), ("exact text", TEXT)):
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
    unseen = held_out(clues, right, HEARD, [case.of.narration for case in cases])
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


def _print_takings(
    title: str, sentences: Sequence[Sequence[Labelled]], chance: Mapping[int, float]
) -> None:
    """What would be mended and spoilt if candidates from some probability on were taken."""
    click.echo(f"\n{title}: taken from, mended, spoilt, no better")
    for threshold in _TAKEN:
        taken = [case for sentence in sentences for case in _taken(sentence, chance, threshold)]
        _print_share(threshold, [case.gain for case in taken])


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
