"""The walk through the talk: from items to flaws and clean parts, sentence after sentence."""

from spacy.language import Language
from spacy.tokens import Doc

from lexicon.load import Lexicon
from pipeline.understand.cleans import clean_parts
from pipeline.understand.degrees import give_degrees
from pipeline.understand.flaws import recall, refers_in_vain, state
from pipeline.understand.memory import Memory
from pipeline.understand.mending import without_implied, without_mended, without_taken_back
from pipeline.understand.ones import resolve_ones
from pipeline.understand.repeats import repeat
from pipeline.understand.said import Said
from pipeline.understand.sentence import lay_out
from pipeline.understand.terms import Item
from pipeline.understand.walk import find_targets, move


@Language.component("statements", requires=["doc._.items", "doc._.mood"], assigns=["doc._.said"])
def statements(doc: Doc) -> Doc:
    """Reads the flaws and clean parts of the whole talk."""
    said, memory, lexicon = Said(), Memory(), doc._.lexicon
    for number, (row, mood) in enumerate(zip(doc._.items, doc._.mood, strict=True)):
        _read(number, row, mood, memory=memory, lexicon=lexicon, said=said)
    doc._.said = said
    return doc


def _read(
    number: int, row: list[Item], mood: list[int], *, memory: Memory, lexicon: Lexicon, said: Said
) -> None:
    """Takes in one sentence."""
    resolve_ones(number, row, mood, memory)
    sentence = lay_out(number, row, mood)
    move(sentence, memory)
    find_targets(sentence, memory, lexicon)
    stated = [f for group in sentence.flaws for f in state(sentence, group, memory, lexicon)]
    stated = without_implied(sentence, without_mended(sentence, stated))
    stated = without_taken_back(sentence, stated)
    stated += recall(sentence, memory)
    give_degrees(sentence, stated, memory)
    copied, praised = repeat(sentence, stated, memory)
    flaws = stated + without_taken_back(sentence, copied)
    clean = clean_parts(sentence, stated, praised, memory)
    if refers_in_vain(sentence, flaws):
        said.unresolved.append(number)
    said.flaws += flaws
    said.clean += clean
    memory.take_in(sentence, flaws, clean)
