"""The lexicon in a reviewer's hands: what it offers, how it reads, and the phrases he adds to it.

What is added goes into the user's own lexicon file, which has the format of any shop's, and is read
by every command from then on. `--lexicon` names another file in its place, or none.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from spacy.lang.en.stop_words import STOP_WORDS

from lexicon.edit import Table, with_phrase, without_phrase
from lexicon.expand import expand, spellings, well_formed
from lexicon.load import FileText, extra_text, faults_with, kinds, load_lexicon, phrases_in
from pipeline.errors import ReviewError
from pipeline.models import LEARNED, Kind, Line, Record, Statement, Transcript
from pipeline.record import write_atomically
from pipeline.review.changes import Change
from pipeline.review.choices import Choices, choices_of
from pipeline.review.decisions import as_phrase
from pipeline.review.own_files import chosen_file, locked, own_file
from pipeline.understand.reading import read_text, understand
from pipeline.understand.talk import COMMON_WORDS
from pipeline.weigh.confidence import is_heard
from pipeline.weigh.flags import GLANCE_COST, WEIGHED_ON_LINES
from pipeline.weigh.repair import read_line, repair
from pipeline.weigh.weighing import weigh
from pipeline.wording import plain

EVERYDAY = COMMON_WORDS | STOP_WORDS  # said of anything
_FEWEST_LETTERS = 3  # shorter ones are parts of other words, and digits are amounts


def lexicon_path() -> Path:
    """Where the user's own lexicon is kept."""
    return own_file("lexicon.toml")


def lexicon_file(choice: Path | None) -> Path | None:
    """The lexicon file that a user chooses, as `chosen_file` does."""
    return chosen_file(str(choice) if choice else None, lexicon_path())


def shop_words(path: Path | None) -> FileText | None:
    """The text of a lexicon file; None for no file, and where the user has no own one yet.

    Raises LexiconError where the file cannot be read, or is a shared one that is not there.
    """
    if path is None or (path == lexicon_path() and not path.exists()):
        return None
    text = extra_text(path)
    return text._replace(name=str(path)) if path == lexicon_path() else text


def added_phrases(path: Path) -> list[tuple[str, str]]:
    """The phrases that a lexicon file adds for known ids, with the id that each stands for.

    Raises LexiconError as `shop_words` does, and where it is no lexicon file.
    """
    extra = shop_words(path)
    return phrases_in(extra) if extra else []


def take_out(path: Path, typed: str) -> bool:
    """Takes a phrase out of a lexicon file; False if it is not in there.

    Raises LexiconError as `added_phrases` does, RecordError where the file cannot be written.
    """
    phrase = as_phrase(typed)
    if not any(spellings(phrase)[0] in spellings(known) for known, _ in added_phrases(path)):
        return False
    Wordbook.of(path).keep([Change(of="lexicon", id=phrase, before={}, after=None)])
    return True


@dataclass(frozen=True)
class Wordbook:
    """Our lexicon and the words in `extra`, which `file` holds; without one none can be added.

    Whatever reads by it raises LexiconError where `extra` is no lexicon file.
    """

    file: Path | None = None
    extra: FileText | None = None

    @classmethod
    def of(cls, file: Path | None) -> "Wordbook":
        """The words with those of a file. Raises LexiconError as `shop_words` does."""
        return cls(file, shop_words(file))

    def choices(self, kind: Kind) -> Choices:
        """What there is to choose from for a kind of machine."""
        return choices_of(load_lexicon(kind, self.extra))

    def understand_text(self, text: str, kind: Kind) -> Sequence[Statement]:
        """What a typed sentence states about a kind of machine."""
        return read_text(text, kind, self.extra)

    def understand_anew(self, record: Record, kind: Kind) -> Record:
        """The record that its lines make where they are talk about a kind of machine.

        Nothing in it is settled. Captions are read wholly anew. What was heard stays read as it
        was, since there is no sound to judge other readings by.
        """
        lexicon = load_lexicon(kind, self.extra)
        transcript = _as_transcribed(record)
        if not is_heard(transcript):
            lines = [_as_taught(line) for line in transcript.lines]
            transcript = transcript.model_copy(update={"lines": lines})
            transcript = repair(transcript, lexicon, extra=self.extra)
        meant = understand(transcript, kind, self.extra)
        meant.vehicle.kind_basis = "reviewed"
        read_by = {"lexicon_version": lexicon.version, "shop_lexicon": lexicon.shop}
        settings = record.settings.model_copy(update={"lexicon": kind, **read_by})
        cost = record.settings.thresholds.get("glance_cost", GLANCE_COST)
        return weigh(transcript, meant, lexicon, record.source, settings, glance_cost=cost)

    def knows(self, phrase: str, names: str, kind: Kind) -> bool:
        """Whether a phrase stands for a part or flaw already."""
        written = spellings(phrase)
        phrases = load_lexicon(kind, self.extra).phrases
        return any(known.text in written and known.id == names for known in phrases)

    def after(self, changes: Iterable[Change]) -> "Wordbook":
        """The words with phrases added and taken out; nothing is written.

        Raises ReviewError where a phrase cannot be added: it is none, is too ordinary or stands for
        something else, or there is no file to keep it in.
        """
        words = self
        for change in changes:
            if change.of == "lexicon":
                assert change.id is not None
                names = (change.after or {}).get("names")
                words = words._with(change.id, names) if names else words._without(change.id)
        return words

    def keep(self, changes: Sequence[Change]) -> "Wordbook":
        """The words after changes, on disk, with what others have added to the file meanwhile.

        Raises ReviewError as `after` does, RecordError where the file cannot be written.
        """
        if self.file is None or not any(change.of == "lexicon" for change in changes):
            return self
        with locked(self.file):
            words = Wordbook.of(self.file).after(changes)
            if words.extra:
                write_atomically(self.file, words.extra.text.encode())
            return words

    def _with(self, phrase: str, names: str) -> "Wordbook":
        if self.file is None:
            raise ReviewError(f"'{phrase}' cannot be kept: --lexicon none leaves no file for it")
        if not well_formed(phrase):
            raise ReviewError(f"'{plain(phrase)}' is no phrase; write words of letters and digits")
        if EVERYDAY.issuperset(spellings(phrase)[-1].split()) or _letters(phrase) < _FEWEST_LETTERS:
            raise ReviewError(f"'{phrase}' is too ordinary: it is said of anything")
        forms = {form.text for form in expand([phrase], "part", names, inflect=True)}
        lexicons = [load_lexicon(kind, self.extra) for kind in kinds()]
        for known in (known for lexicon in lexicons for known in lexicon.phrases):
            if known.text in forms and known.id != names:
                role = known.role.replace("_", " ")
                raise ReviewError(f"'{known.text}' already stands for the {role} '{known.id}'")
        is_part = any(names in lexicon.parts for lexicon in lexicons)
        table: Table = "part_phrases" if is_part else "defect_phrases"
        earlier = self.extra or FileText(str(self.file), "")
        return self._reading(earlier._replace(text=with_phrase(earlier.text, table, names, phrase)))

    def _without(self, phrase: str) -> "Wordbook":
        if self.extra is None:
            return self
        return self._reading(self.extra._replace(text=without_phrase(self.extra.text, phrase)))

    def _reading(self, extra: FileText) -> "Wordbook":
        for fault in faults_with(extra):
            raise ReviewError(fault)
        return replace(self, extra=extra)


def _letters(phrase: str) -> int:
    return sum(map(str.isalpha, phrase))


def _as_transcribed(record: Record) -> Transcript:
    """The lines as they were before they were understood."""
    return Transcript(
        origin=record.source.transcript_origin,
        lines=[_unflagged(line) for line in record.lines],
        duration_s=record.source.duration_s,
    )


def _unflagged(line: Line) -> Line:
    """The line with no flags but those that listening raised."""
    flags = [code for code in line.flags if code not in WEIGHED_ON_LINES]
    status = line.status if line.status == "unheard" or flags else "heard"
    return line.model_copy(update={"flags": flags, "status": status})


def _as_taught(line: Line) -> Line:
    """The line with no words read as others but those that corrections taught."""
    words = [word.model_copy(update={"read_as": None}) for word in line.words]
    bare = line.model_copy(update={"words": words, "repairs": []})
    return read_line(bare, [repair for repair in line.repairs if repair.role == LEARNED])
