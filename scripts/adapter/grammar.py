"""Trade talk by the thousand: hand-written sentence shapes filled with the lexicon's words.

    python scripts/adapter/grammar.py --count 30000 --out build/adapter/sentences.json

Writes sentences for voices to read: `spoken` is what is said, `written` the ways in which a
recogniser may write it, `topic` trade or general. The shapes are in text/*.txt; the narrations of
the fit split and plain English sentences (examples of WordNet, `apt-get install wordnet-base`) are
mixed in.
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
from lexicon.expand import plural, spellings
from lexicon.load import Lexicon, kinds, load_lexicon
from measure import words_of

HERE = Path(__file__).parent
NARRATIONS = HERE.parents[1] / "tests" / "narrations" / "fit"
WORDNET = Path("/usr/share/wordnet")

SHAPES = {"findings": 0.66, "clean": 0.14, "chatter": 0.1, "moves": 0.05, "headers": 0.05}
_CAPITALS = {
    "gps": "GPS", "led": "LED", "lcd": "LCD", "tft": "TFT", "uv": "UV", "oem": "OEM", "cvt": "CVT",
    "cv": "CV", "c v": "CV", "rops": "ROPS", "a arm": "A-arm", "a arms": "A-arms", "v twin": "V-twin",
    "re": "re", "aa": "AA", "lh": "LH", "rh": "RH",
}  # fmt: skip
_VERBS = {
    "doesn't", "won't", "don't", "isn't", "aren't", "does", "do", "is", "are", "has", "was", "were",
    "rattles", "wobbles", "wiggles", "binds", "flops", "leaks", "sits", "works", "fell", "came",
    "broke", "tore", "wore", "quit", "stopped", "lost", "needs", "been", "sat", "jiggles", "can't",
}  # fmt: skip
_HISTORY = {"repaint", "touch_up", "prior_repair", "replaced_part"}
_BRITISH = re.compile(r"colour|mould|kerb|centre|tyre|disk|calliper|gage|idis|blueing|licence|gaiter")
_CHOICE = re.compile(r"\(([^()]*\|[^()]*)\)")
_SLOT = re.compile(r"\{([^{}]+)\}")

_QUALIFIERS = (
    "light minor slight small faint fine little moderate heavy bad deep big large nasty severe "
    "noticeable tiny visible serious ugly considerable extensive superficial medium mild fresh old"
).split()
_ADVERBS = (
    "slightly|a little|a bit|pretty badly|badly|heavily|lightly|barely|really|kind of|pretty|quite|"
    "noticeably|severely|just slightly|very|totally|completely|sort of|somewhat|fairly"
).split("|")
_WHERE = (
    "at the {detail}|near the {detail}|by the {detail}|around the {detail}|along the {detail}|"
    "on the {detail}|below the {detail}|just ahead of the {detail}|right by the {detail}|on top|"
    "on the bottom|in the middle|in the center|on the side|on the inside|on the outside|down low|"
    "up high|on the edge|along the edge|on the front|on the back|at the tip|in the corner|"
    "toward the rear|toward the front|on the left|on the right|underneath|right here|down here|"
    "at the top|at the bottom|across the top|along the bottom|all the way around|on both sides"
).split("|")
_HEDGES = (
    "nothing serious|nothing major|not too bad|no big deal|it'll buff out|hard to tell|I think|"
    "you have to look for it|barely visible|pretty typical|as you'd expect|normal for the age|"
    "I'd want another look|we can fix that|just cosmetic|doesn't affect anything|it is what it is|"
    "not sure how it happened|we'll take care of that|shows up in the sun|it's been there a while|"
    "could be worse|that's about it|you can feel it|but it works|so keep that in mind|I'm afraid"
).split("|")
_COLORS = (
    "black|white|red|blue|silver|gray|orange|green|yellow|pearl white|matte black|burgundy|"
    "two-tone blue|candy red|desert tan|copper|purple|lime green|midnight blue|cream"
).split("|")
_NAMES = "Danny Mike Sarah Joe Tina Carl Becky Luis Pete Amber Ron Kelly Steve Maria Hank Josh".split()
_MACHINES = {
    "motorcycle": ["bike", "motorcycle", "cruiser", "scooter", "dirt bike", "bagger"],
    "snowmobile": ["sled", "snowmobile", "machine"],
    "side_by_side": ["side by side", "buggy", "quad", "machine", "utility vehicle"],
    "watercraft": ["watercraft", "ski", "boat", "machine", "jet boat"],
}
_SOUNDS = ("br cor mar hal vel tor ken ash bel dun gran hol ing jas kel lor mer nor pell quin ros "
           "sten tav ul vik wal yor zan car den fair").split()  # fmt: skip
_ENDS = "vane strom ton field wick more dale ro us ane est ric ley well gate by art ix ora ita".split()
_MODELS = (
    "Ranger Courier Patrol Breeze Summit Ridge Plainsman Voyager Longway Swell Tideline Strix Comet "
    "Harrier Falcon Nomad Drifter Pioneer Badger Otter Kestrel Trail Regent Baron Wave Sprint"
).split()


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
        id_ = self.random.choice(list(self.parts))
        options = self.parts[id_]
        name = _spelled(options[min(int(self.random.expovariate(0.25)), len(options) - 1)])
        if several:
            name = _plural(name)
        lead = []
        if not several and (id_ in self.sided or self.random.random() < 0.12):
            lead += self.random.choices(["left", "right", "left-hand", "right-hand", ""], [4, 4, 0.5, 0.5, 5])
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
    return random.choice(_QUALIFIERS)


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
    "adverb": lambda _, random: random.choice(_ADVERBS),
    "qual": _qualifier,
    "where": lambda words, random: random.choice(_WHERE).replace("{detail}", random.choice(words.details)),
    "detail": lambda words, random: random.choice(words.details),
    "hedge": lambda _, random: random.choice(_HEDGES),
    "okay": lambda words, random: random.choice(words.okay),
    "There's": lambda _, random: random.choice(["There's", "There's", "There's also", "So there's", "There's, uh,"]),
    "There are": lambda _, random: random.choice(["There are", "There's", "There are also"]),
    "There is": lambda _, random: random.choice(["There is", "There is also", "There's"]),
    "You can see": lambda _, random: random.choice(
        ["You can see", "You can see", "As you can see,", "You'll see", "You can just see", "You'll notice"]),
    "Um": lambda _, random: random.choice(["Um,", "Uh,", "So, uh,", "Okay, um,", "And, uh,", "Let's see,"]),
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
        f"{random.choice(_SOUNDS)}{random.choice(_ENDS)}".capitalize() + f" {random.choice(_MODELS)}"),
    "name": lambda _, random: random.choice(_NAMES),
    "color": lambda _, random: random.choice(_COLORS),
    "machine": lambda words, random: random.choice(_MACHINES[words.kind]),
}  # fmt: skip


def _capital(text: str) -> str:
    if text.startswith("<"):
        return re.sub(r"(?<=[<|])[a-z]", lambda m: m[0].upper(), text, count=2)
    return text[:1].upper() + text[1:]


def tidied(text: str) -> str:
    """One space between words, capitals where letters are read out, a capital at the start."""
    text = re.sub(r"\s+", " ", text).strip()
    for small, capital in _CAPITALS.items():
        text = re.sub(rf"(?<![\w'-]){small}(?![\w'-])", capital, text)
    return _capital(text)


def _lines(name: str) -> list[str]:
    lines = (HERE / "text" / f"{name}.txt").read_text("utf-8").splitlines()
    return [line for line in lines if line and not line.startswith("#")]


def narrated() -> Iterator[str]:
    """The sentences of the fit narrations."""
    for path in sorted(NARRATIONS.glob("*.toml")):
        for said in tomllib.loads(path.read_text("utf-8"))["say"]:
            if "text" in said:
                yield said["text"]


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


def entry(marked: str, topic: str) -> dict[str, object]:
    """One line of the sentences file."""
    ways = dict.fromkeys([numbers.spoken(marked), numbers.written(marked)])
    return {"spoken": numbers.spoken(marked), "written": list(ways), "topic": topic}


def trade_words(plain: list[dict[str, object]]) -> list[str]:
    """Words of parts and flaws that plain English seldom has."""
    common = Counter(word for each in plain for word in set(words_of(str(each["spoken"]))))
    phrases = {p.text for kind in kinds() for p in load_lexicon(kind).phrases if p.role in ("part", "defect")}
    words = {word for phrase in phrases for word in phrase.split() if len(word) > 2}
    return sorted(word for word in words if common[word] < 9)


def joined_words() -> dict[str, str]:
    """Split spellings of the lexicon's compounds, and the joined ones."""
    texts = {p.text for kind in kinds() for p in load_lexicon(kind).phrases}
    splits = (text for text in texts if text.count(" ") == 1 and text.replace(" ", "") in texts)
    return {split: split.replace(" ", "") for split in sorted(splits)}


@click.command()
@click.option("--count", type=int, default=30_000, show_default=True)
@click.option("--general-count", type=int, default=9_000, show_default=True)
@click.option("--seed", type=int, default=1, show_default=True)
@click.option("--out", type=click.Path(path_type=Path), required=True)
def main(count: int, general_count: int, seed: int, out: Path) -> None:
    """Writes the sentences file."""
    random = Random(seed)
    told = [entry(text, "narration") for text in narrated()]
    trade = [entry(text, "trade") for text in dict.fromkeys(sentences(random, count))]
    plain = [entry(text, "general") for text in general(random, general_count)]
    out.parent.mkdir(parents=True, exist_ok=True)
    content = {
        "sentences": [*told, *trade, *plain],
        "trade_words": trade_words(plain),
        "joined": joined_words(),
    }
    out.write_text(json.dumps(content, ensure_ascii=False, indent=0) + "\n", "utf-8")
    click.echo(f"{len(told)} narrated, {len(trade)} trade and {len(plain)} general sentences")


if __name__ == "__main__":
    main()
