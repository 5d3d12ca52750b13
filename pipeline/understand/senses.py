"""Words that could name a flaw, and tell none of this machine: other senses, tools, habits."""

from collections.abc import Sequence

from pipeline.understand.mending import MENDED, PATCHES
from pipeline.understand.plain import words
from pipeline.understand.talk import ADVERBS, DETERMINERS, LANDMARKS
from pipeline.understand.terms import Item

_AFTER_GONE = words("and but from off too now completely entirely on at in missing altogether here")
# "A chip guard", "rust inhibitor", "the dent guy".
_TOOLS = words(
    "guard guards inhibitor inhibitors penetrant pad pads kit kits guy guys remover preventer "
    "preventative protectant converter treatment sealer sealant tester gun shop wizard man doctor"
)
# "Crack", "scratches" after many things tell what such things do; "leak" and "rub" how one is.
_EVENTS = words("crack scratch scuff chip dent gouge tear bend rip snap cut break")
_DRIPS = words("seep weep leak")
_ANYBODY = words("they these those everybody everyone people folks kids guys")
_NOBODY = words("nobody nobody's noone")
_DONE = words("ever has have had been even 's got")
_LANDMARKS = LANDMARKS | words("at on in past")
_WORN_OFF = words("pattern tread knobs finish gloss shine grain texture lettering luster lustre")
_UNSAID = words("a an")
_SOMEBODYS = words("my his her")
_OBJECT = words("it them that this")
_STICKING = words("into out up through")
# Words that give another sense to the one before: "popped the cover", "dirt that's stuck to it",
# "nobody is bending down", "it fell off a stand", "sticking into my ribs", "a rubbing strake".
_OTHERWISE_BEFORE = {
    "popped": words("the that this it its open off a"),
    "stuck": words("to"),
    "bending": words("down over"),
    "wet": words("side sand sanding sanded"),
    "rubbing": words("strake strakes strip strips rail"),
    "sticking": _STICKING,
    "sticks": _STICKING,
    "fell off": words("a the this that my"),
    "loose": words("gravel stones dirt sand snow change chippings"),
}
_BEARING = words("standing sitting looking holding walking leaning")
_PERSONS = words("i'm we're you're me")
_AS_SUCH = (["will"], ["would"], ["can"], ["won't"], ["is", "the"], ["is", "what"], ["is", "one"])
_MARKS = words(", . ; : ! ?")


def is_other_sense(row: Sequence[Item], index: int) -> bool:
    """Whether a flaw's word tells no flaw of the machine, by the words about it."""
    return (
        _is_otherwise(row, index)
        or _is_tool(row, index)
        or _is_habit(row, index)
        or _is_by_nobody(row, index)
        or _is_any_such(row, index)
        or _is_of_a_person(row, index)
        or _is_flaw_not_there(row, index)
        or _is_likened(row, index)
    )


def _is_otherwise(row: Sequence[Item], index: int) -> bool:
    """Whether what follows a flaw's word gives it another sense.

    "It fell off a stand", "has gone smooth", "a patch of it", "scratch that".
    """
    if index + 1 == len(row):
        return False
    after, text = row[index + 1], row[index].text
    if text.endswith("gone"):
        return _is_gone_otherwise(row, index)
    if text == "scratch" and after.is_word(("that", "what")):
        return not index or row[index - 1].is_word(_MARKS)
    if text == "bend" and index and row[index - 1].is_word(("the",)):
        return index > 1 and row[index - 2].is_word(_LANDMARKS)  # "discolored at the bend"
    taped = row[index].id == "prior_repair" and after.text.endswith("residue")  # "tape residue"
    dried = text == "dried up" and index and row[index - 1].is_word(_UNSAID)  # "a dried up soda"
    season = index and row[index - 1].is_word(("the",)) and after.is_word(_MARKS)
    weather = text == "wet" and season  # "before the wet", not "the wet spot"
    gone_on = text == "doesn't go" and not after.is_word(_MARKS)  # "it doesn't go through"
    return (
        taped
        or gone_on
        or bool(dried)
        or bool(weather)
        or after.is_word(_OTHERWISE_BEFORE.get(text, ()))
        or _is_charged(row, index)
        or _is_tried(row, index)
        or _is_handled(row, index)
        or (text in PATCHES and after.is_word(("of",)))
        or _is_done_to_other(row, index)
    )


def _is_gone_otherwise(row: Sequence[Item], index: int) -> bool:
    """Whether "gone" tells of no thing missing: "gone a little cloudy", "gone at it with a rag"."""
    after = row[index + 1]
    if after.is_word(("at",)) and any(item.is_word(_OBJECT) for item in row[index + 2 : index + 3]):
        return True
    if index and row[index - 1].is_word(_WORN_OFF):
        return True  # "the pattern's gone"
    other = after.role == "word" and after.id.isalpha() and not after.is_word(_AFTER_GONE)
    return other or after.role == "qualifier"


def _is_tried(row: Sequence[Item], index: int) -> bool:
    """Whether somebody but tried it: "I gave it a rattle"."""
    before = [item.id for item in row[max(0, index - 3) : index]]
    return (
        row[index].id not in _EVENTS
        and before[:1] in (["gave"], ["give"], ["giving"])
        and before[-1:] == ["a"]
    )


def _is_charged(row: Sequence[Item], index: int) -> bool:
    """Whether something hung on a charger: "I had it plugged in this morning and it works"."""
    after = row[index + 1 : index + 3]
    plugged_in = row[index].text == "plugged" and after[0].is_word(("in",))
    return plugged_in and len(after) > 1 and not after[1].is_word(DETERMINERS - {"this"})


def _is_handled(row: Sequence[Item], index: int) -> bool:
    """Whether the speaker did it to see what is under it: "I rubbed a spot", "chipped it off"."""
    if not index or not row[index - 1].is_word(("i", "we")):
        return False
    off = any(item.is_word(("off",)) for item in row[index + 1 : index + 5])
    return off or row[index].text == "rubbed"


def _is_done_to_other(row: Sequence[Item], index: int) -> bool:
    """Whether it is done to somebody's own: "fixed my sister's furnace", "about broke my ankle"."""
    after = row[index + 1 : index + 3]
    if len(after) < 2 or not after[0].is_word(_SOMEBODYS):
        return False
    return row[index].id in MENDED or after[1].role == "word"


def _is_tool(row: Sequence[Item], index: int) -> bool:
    """Whether a thing against flaws, or for them, is named by it: "a chip guard"."""
    return index + 1 < len(row) and row[index + 1].text in _TOOLS


def _is_habit(row: Sequence[Item], index: int) -> bool:
    """Whether it tells what such things do: "these windshields crack if", "they scratch"."""
    drips = row[index].text in _DRIPS  # "the fork seals leak" tells of these
    if not index or not (drips or row[index].text in _EVENTS):
        return False
    before = row[index - 1]
    if before.is_word(("all",)) and index > 1:
        before = row[index - 2]  # "they all seep"
    return (before.role == "part" and before.plural and not drips) or before.is_word(_ANYBODY)


def _is_by_nobody(row: Sequence[Item], index: int) -> bool:
    """Whether nobody did it: "nobody ever drilled a hole", "nobody's worn a hole in it"."""
    for at in range(index - 1, max(-1, index - 7), -1):
        if row[at].is_word(_NOBODY):
            return True
        spoken_on = row[at].role == "defect" or row[at].is_word(ADVERBS | DETERMINERS | _DONE)
        if not spoken_on:
            return False
    return False


def _is_of_a_person(row: Sequence[Item], index: int) -> bool:
    """Whether somebody is so: "I'm worn out from the drive", "my knees are shot"."""
    body = row[max(0, index - 3) : index]
    opens = index < 4 or row[index - 4].is_word(_MARKS | {"and", "but", "because", "so"})
    if len(body) == 3 and opens and body[0].is_word(_SOMEBODYS) and body[1].role == "word":
        return body[2].is_word(("is", "are", "was", "were", "'s"))
    if len(body) > 1 and body[-2].is_word(_SOMEBODYS) and body[-1].role == "word":
        return True  # "with my glasses fogged up"
    passed = ADVERBS | _BEARING
    before = next((i for i in range(index - 1, -1, -1) if not row[i].is_word(passed)), None)
    return before is not None and row[before].is_word(_PERSONS)


def _is_flaw_not_there(row: Sequence[Item], index: int) -> bool:
    """Whether a flaw, and no part, is missing: "the tear they all get isn't there"."""
    if not row[index].text.endswith("n't there"):
        return False
    for at in range(index - 1, -1, -1):
        if row[at].role == "defect" or row[at].is_word(_MARKS):
            return row[at].role == "defect"
    return False


def _is_likened(row: Sequence[Item], index: int) -> bool:
    """Whether something is only as such a thing is: "slick as a peeled egg"."""
    likened = index > 2 and row[index - 1].is_word(_UNSAID) and row[index - 2].is_word(("as",))
    return likened and not row[index - 3].is_word(("much", "well"))  # "so much as a scratch"


def _is_any_such(row: Sequence[Item], index: int) -> bool:
    """Whether it describes any such thing: "a cracked fairing will cost you"."""
    opens = index < 2 or row[index - 2].is_word((",", ".", "and", "but"))
    named = index + 2 < len(row) and row[index + 1].role == "part"
    if not (index and opens and named and row[index - 1].is_word(_UNSAID)):
        return False
    after = [item.id for item in row[index + 2 : index + 4]]
    return any(after[: len(said)] == said for said in _AS_SUCH)
