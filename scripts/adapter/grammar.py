"""Trade talk by the thousand: hand-written sentence shapes filled with the lexicon's words.

    python scripts/adapter/grammar.py --count 30000 --out build/adapter/sentences.json

Writes sentences for voices to read: `spoken` is what is said, `written` the ways in which a
recogniser may write it, `topic` trade, general or alike. The shapes are in text/*.txt; the
narrations of the fit split and plain English sentences (examples of WordNet, `apt-get install
wordnet-base`) are mixed in. "Alike" are definitions from WordNet of words that sound like those of
the trade talk and are none of them ("caller" for "color"): so that the trade is not heard in them.
"""

import json
import re
import tomllib
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random

import click
import numbers_said as numbers
from measure import words_of
from numbers_said import WORDS

from lexicon.expand import Phrase, plural, spellings
from lexicon.load import Lexicon, kinds, load_lexicon
from pipeline.weigh.sound_index import SoundIndex

HERE = Path(__file__).parent
NARRATIONS = HERE.parents[1] / "tests" / "narrations" / "fit"
WORDNET = Path("/usr/share/wordnet")

SHAPES = {"findings": 0.66, "clean": 0.14, "chatter": 0.1, "moves": 0.05, "headers": 0.05}
_VERBS = {
    "doesn't", "won't", "don't", "isn't", "aren't", "does", "do", "is", "are", "has", "was", "were",
    "rattles", "wobbles", "wiggles", "binds", "flops", "leaks", "sits", "works", "fell", "came",
    "broke", "tore", "wore", "quit", "stopped", "lost", "needs", "been", "sat", "jiggles", "can't",
}  # fmt: skip
_HISTORY = {"repaint", "touch_up", "prior_repair", "replaced_part"}
_BRITISH = re.compile(
    r"colour|mould|kerb|centre|tyre|disk|calliper|gage|idis|blueing|licence|gaiter"
)
_CHOICE = re.compile(r"\(([^()]*\|[^()]*)\)")
_NUMBERS = re.compile(r"teen|twenty|thirty|[a-z]ty[ -]|hundred|thousand|[Ss]tock|VIN")
_OFTEN = 15  # sentences with a word of the trade talk, for what sounds like it to count
_KNOWN = 3  # uses of a word in WordNet's own text, for it not to be too strange
_ALIKE = 0.2  # distance in sound, see weigh/sound_index.py: "caller" is 0.1 from "color"
_DEFINED = {"noun": "The {} is", "verb": "To {} is to", "adj": "When it is {}, it is"}
_SLOT = re.compile(r"\{([^{}]+)\}")


class Words:
    """What one kind's lexicon puts into the slots."""

    def __init__(self, lexicon: Lexicon, random: Random) -> None:
        self.random = random
        self.kind = lexicon.kind
        self.parts = {
            id_: [p.rstrip("!?") for p in entry.phrases if not p.endswith("s!") and _american(p)]
            for id_, entry in lexicon.parts.items()
        }
        self.sided = {id_ for id_, part in lexicon.parts.items() if part.paired}
        self.axled = {id_ for id_, part in lexicon.parts.items() if part.axle_pair}
        self.details = [p.text for p in lexicon.phrases if p.role == "detail" and not p.plural]
        self.okay = [
            p.text for p in lexicon.phrases
            if p.role == "no_damage" and p.text.split()[0] in ("is", "looks", "works", "checks")
        ]  # fmt: skip
        self.said_qualifiers = [
            p.text for p in lexicon.phrases if p.role == "qualifier" and len(p.text.split()) <= 3
        ]
        entries = lexicon.defects
        nouns = {i: [n for n in e.nouns if _american(n)] for i, e in entries.items()}
        self.countable = {i: [n for n in ns if "!" not in n] for i, ns in nouns.items()}
        self.mass = {i: [n for n in ns if "!" in n] for i, ns in nouns.items()}
        forms = {i: [f for f in e.forms if _american(f)] for i, e in entries.items()}
        self.forms = {i: [f for f in fs if f.split()[0] not in _VERBS] for i, fs in forms.items()}
        self.does = {i: [f for f in fs if f.split()[0] in _VERBS] for i, fs in forms.items()}
        self.history = {i: self.forms[i] for i in _HISTORY if i in forms}

    def pick(self, phrases: dict[str, list[str]]) -> str:
        """A word of any flaw; the usual ones, which stand first, come up more often."""
        options = self.random.choice([each for each in phrases.values() if each])
        written = options[min(int(self.random.expovariate(0.35)), len(options) - 1)]
        return _spelled(written)

    def part(self, *, several: bool = False) -> str:
        """A part, often with its side and position."""
        id_ = self.random.choice(list(self.parts))
        options = self.parts[id_]
        name = _spelled(options[min(int(self.random.expovariate(0.25)), len(options) - 1)])
        if several:
            name = _plural(name)
        lead: list[str] = []
        if not several and (id_ in self.sided or self.random.random() < 0.12):
            sides = ["left", "right", "left-hand", "right-hand", ""]
            lead += self.random.choices(sides, [4, 4, 0.5, 0.5, 5])
        if id_ in self.axled or self.random.random() < 0.08:
            lead += self.random.choices(["front", "rear", ""], [4, 4, 3])
        elif self.random.random() < 0.08:
            lead += self.random.choice(["upper", "lower", "inner", "outer", "passenger"]).split()
        return " ".join([*filter(None, lead), name])


def _american(phrase: str) -> bool:
    return not _BRITISH.search(phrase)


def _spelled(written: str) -> str:
    """A lexicon's phrase; where it has two spellings, both."""
    *joined, split = spellings(written)
    return f"<{split}|{joined[0]}>" if joined else split


def sentences(random: Random, count: int) -> Iterator[str]:
    """Trade talk with numbers marked, one sentence each."""
    shapes = {name: _lines(name) for name in SHAPES}
    words = [Words(load_lexicon(kind), random) for kind in kinds()]
    weights = [4 if each.kind == "motorcycle" else 1.5 for each in words]
    for _ in range(count):
        of_kind = random.choices(words, weights)[0]
        group = random.choices(list(SHAPES), list(SHAPES.values()))[0]
        yield filled(random.choice(shapes[group]), of_kind, random)


def filled(shape: str, words: Words, random: Random) -> str:
    """A sentence of that shape."""
    text = shape
    while found := _CHOICE.search(text):
        text = text[: found.start()] + random.choice(found[1].split("|")) + text[found.end() :]
    while found := _SLOT.search(text):
        text = text[: found.start()] + _slot(found[1], words, random) + text[found.end() :]
    return tidied(text)


def _slot(name: str, words: Words, random: Random) -> str:
    if name[0].isupper() and name not in _FILLERS:
        return _capital(_slot(name[0].lower() + name[1:], words, random))
    return _FILLERS[name](words, random)


def _qualified(noun: str, words: Words, random: Random) -> str:
    if random.random() < 0.45:
        return f"{_qualifier(words, random)} {noun}"
    return noun


def _qualifier(words: Words, random: Random) -> str:
    if random.random() < 0.25:
        return random.choice(words.said_qualifiers)
    return str(random.choice(WORDS["qualifiers"]))


def _flaw(words: Words, random: Random) -> str:
    noun = _qualified(words.pick(words.countable), words, random)
    first = numbers.spoken(noun)
    return f"{'an' if first[0] in 'aeio' else 'a'} {noun}"


def _flaws(words: Words, random: Random) -> str:
    noun = _qualified(_plural(words.pick(words.countable)), words, random)
    lead = random.choices(["", "some", "a few", "a couple of", "several", "multiple", "many", None],
                          [4, 3, 3, 2, 1.5, 0.5, 0.5, 2])[0]  # fmt: skip
    return f"{numbers.count(random) if lead is None else lead} {noun}".strip()


def _plural(noun: str) -> str:
    if noun.endswith(">"):
        return re.sub(r"<([^|]*)\|(.*)>$", lambda m: f"<{plural(m[1])}|{plural(m[2])}>", noun)
    return plural(noun)


def _the_part(words: Words, random: Random) -> str:
    return f"{random.choices(['the', 'this', 'that', 'the'], [6, 1, 0.5, 2])[0]} {words.part()}"


def _leading_part(words: Words, random: Random) -> str:
    part = words.part()
    return _capital(part if random.random() < 0.35 else f"the {part}")


_FILLERS: dict[str, Callable[[Words, Random], str]] = {
    "The part": _leading_part,
    "the part": _the_part,
    "part": lambda words, _: words.part(),
    "bare part": lambda words, random: _spelled(
        random.choice(words.parts[random.choice(list(words.parts))][:3])),
    "parts": lambda words, _: words.part(several=True),
    "the parts": lambda words, _: f"the {words.part(several=True)}",
    "flaw": _flaw,
    "flaws": _flaws,
    "bare flaw": lambda words, _: words.pick(words.countable),
    "bare flaws": lambda words, _: _plural(words.pick(words.countable)),
    "mass": lambda words, random: _qualified(words.pick(words.mass), words, random),
    "form": lambda words, _: words.pick(words.forms),
    "does": lambda words, _: words.pick(words.does),
    "history": lambda words, _: words.pick(words.history),
    "is": lambda _, random: random.choice(["is", "is", "is pretty", "is a little", "is a bit"]),
    "adverb": lambda _, random: random.choice(WORDS["adverbs"]),
    "qual": _qualifier,
    "where": lambda _, random: random.choice(WORDS["where"]),
    "detail": lambda words, random: random.choice(words.details),
    "hedge": lambda _, random: random.choice(WORDS["hedges"]),
    "okay": lambda words, random: random.choice(words.okay),
    "There's": lambda _, random: random.choice(WORDS["openings"]["there's"]),
    "There are": lambda _, random: random.choice(WORDS["openings"]["there are"]),
    "There is": lambda _, random: random.choice(WORDS["openings"]["there is"]),
    "You can see": lambda _, random: random.choice(WORDS["openings"]["you can see"]),
    "Um": lambda _, random: random.choice(WORDS["openings"]["um"]),
    "count": lambda _, random: numbers.count(random),
    "size": lambda _, random: numbers.size(random),
    "area": lambda _, random: numbers.area(random),
    "distance": lambda _, random: numbers.distance(random),
    "year": lambda _, random: numbers.year(random),
    "a year": lambda _, random: f"a {numbers.year(random)}",
    "stock": lambda _, random: numbers.stock(random),
    "vin": lambda _, random: numbers.vin(random),
    "tail": lambda _, random: numbers.tail(random),
    "make": lambda _, random: (
        (random.choice(WORDS["sounds"]) + random.choice(WORDS["ends"])).capitalize()
        + " " + random.choice(WORDS["models"])),
    "name": lambda _, random: random.choice(WORDS["names"]),
    "color": lambda _, random: random.choice(WORDS["colors"]),
    "machine": lambda words, random: random.choice(WORDS["machines"][words.kind]),
}  # fmt: skip


def _capital(text: str) -> str:
    if text.startswith("<"):
        return re.sub(r"(?<=[<|])[a-z]", lambda m: m[0].upper(), text, count=2)
    return text[:1].upper() + text[1:]


def tidied(text: str) -> str:
    """One space between words, capitals where letters are read out, a capital at the start."""
    text = re.sub(r"\s+", " ", text).strip()
    for small, capital in WORDS["capitals"].items():
        text = re.sub(rf"(?<![\w'-]){small}(?![\w'-])", capital, text)
    return _capital(text)


def _lines(name: str) -> list[str]:
    lines = (HERE / "text" / f"{name}.txt").read_text("utf-8").splitlines()
    return [line for line in lines if line and not line.startswith("#")]


def narrated() -> Iterator[tuple[str, str]]:
    """The sentences of the fit narrations; every fourth narration is held out of training.

    So are sentences with large numbers, as the files do not say how those are written in digits.
    """
    for number, path in enumerate(sorted(NARRATIONS.glob("*.toml"))):
        for said in tomllib.loads(path.read_text("utf-8"))["say"]:
            if "text" in said:
                trained_on = number % 4 and not _NUMBERS.search(said["text"])
                yield said["text"], "narration" if trained_on else "held-out"


def general(random: Random, count: int) -> list[str]:
    """Plain English sentences that have nothing to do with the trade: WordNet's examples."""
    found: set[str] = set()
    for path in WORDNET.glob("data.*"):
        for example in re.findall(r'"([^"]+)"', path.read_text("ascii", "ignore")):
            words = example.split()
            if 5 <= len(words) <= 18 and re.fullmatch(r"[A-Za-z ,'?!.-]+", example):
                text = _capital(example.strip(" .,"))
                found.add(re.sub(r"\bi\b", "I", text) + ("" if text[-1] in "?!" else "."))
    return random.sample(sorted(found), min(count, len(found)))


def sound_alikes(trade: list[str], random: Random, count: int) -> list[str]:
    """Definitions, as sentences, of words that sound like words of trade talk."""
    said = Counter(word for text in trade for word in words_of(text))
    known = [Phrase(word, "part", word) for word, times in said.items() if times >= _OFTEN]
    index = SoundIndex(known)
    defined = [(opening, *each) for name, opening in _DEFINED.items() for each in definitions(name)]
    used = Counter(word for _, _, gloss in defined for word in words_of(gloss))
    random.shuffle(defined)
    found = [
        (word, _capital(f"{opening.format(word)} {meaning}."))
        for opening, word, gloss in defined
        if word not in said
        and used[word] >= _KNOWN
        and re.fullmatch(r"[A-Za-z ,'-]+", meaning := gloss.split(";")[0].strip())
        and 3 <= len(meaning.split()) <= 14
        and index.near(word, _ALIKE)
    ]
    turns: Counter[str] = Counter()
    ordered = []
    for word, text in found:
        ordered.append((turns[word], text))
        turns[word] += 1
    ordered.sort(key=lambda each: each[0])  # each word once before any twice
    return [text for _, text in ordered[:count]]


def definitions(part_of_speech: str) -> Iterator[tuple[str, str]]:
    """Words of WordNet, each with its meanings and examples."""
    path = WORDNET / f"data.{part_of_speech}"
    for line in path.read_text("ascii", "ignore").splitlines():
        fields, _, gloss = line.partition(" | ")
        lemma = "".join(fields.split(" ")[4:5])
        if re.fullmatch(r"[a-z]{3,}", lemma):
            yield lemma, gloss


def entry(marked: str, topic: str) -> dict[str, object]:
    """One line of the sentences file."""
    ways = dict.fromkeys([numbers.spoken(marked), numbers.written(marked)])
    return {"spoken": numbers.spoken(marked), "written": list(ways), "topic": topic}


def trade_words(plain: list[dict[str, object]]) -> list[str]:
    """Words of parts and flaws that plain English seldom has."""
    common = Counter(word for each in plain for word in set(words_of(str(each["spoken"]))))
    phrases = [phrase for kind in kinds() for phrase in load_lexicon(kind).phrases]
    texts = {phrase.text for phrase in phrases if phrase.role in ("part", "defect")}
    words = {word for text in texts for word in text.split() if len(word) > 2}
    return sorted(word for word in words if common[word] < 9)


def joined_words() -> dict[str, str]:
    """Split spellings of the lexicon's compounds, and the joined ones."""
    texts = {p.text for kind in kinds() for p in load_lexicon(kind).phrases}
    splits = (text for text in texts if text.count(" ") == 1 and text.replace(" ", "") in texts)
    return {split: split.replace(" ", "") for split in sorted(splits)}


@click.command()
@click.option("--count", type=int, default=30_000, show_default=True)
@click.option("--general-count", type=int, default=9_000, show_default=True)
@click.option("--alike-count", type=int, default=7_000, show_default=True)
@click.option("--seed", type=int, default=1, show_default=True)
@click.option("--out", type=click.Path(path_type=Path), required=True)
def main(count: int, general_count: int, alike_count: int, seed: int, out: Path) -> None:
    """Writes the sentences file."""
    random = Random(seed)
    told = [entry(text, topic) for text, topic in narrated()]
    trade = [entry(text, "trade") for text in dict.fromkeys(sentences(random, count))]
    plain = [entry(text, "general") for text in general(random, general_count)]
    talk = [str(each["spoken"]) for each in [*told, *trade]]
    alike = [entry(text, "alike") for text in sound_alikes(talk, random, alike_count)]
    out.parent.mkdir(parents=True, exist_ok=True)
    content = {
        "sentences": [*told, *trade, *plain, *alike],
        "trade_words": trade_words(plain),
        "joined": joined_words(),
    }
    out.write_text(json.dumps(content, ensure_ascii=False, indent=0) + "\n", "utf-8")
    click.echo(
        f"{len(told)} narrated, {len(trade)} trade, {len(plain)} general sentences,"
        f" {len(alike)} of words that sound like the trade's"
    )


if __name__ == "__main__":
    main()
