"""Every error a user can meet.

    WearwordError
    ├── MediaError        the recording cannot be read or has no sound
    ├── WeightsError      the speech weights are missing, damaged or of another make
    ├── TranscriptError   a caption file cannot be read (carries the line number)
    ├── RecordError       a findings file cannot be read, written or migrated
    ├── TruthError        a truth file is wrong
    ├── ReviewError       a decision cannot be applied
    └── PublishError      an output cannot be made

The lexicon, which knows nothing of this package, has a LexiconError of its own.

The command line catches these, prints one line and exits 1. The message says what to do.
"""


class WearwordError(Exception):
    """Something a user can put right; its text is one plain line."""


class MediaError(WearwordError):
    """The recording cannot be read, or has no sound in it."""


class WeightsError(WearwordError):
    """The speech weights are missing, damaged, or of another make than asked for."""


class TranscriptError(WearwordError):
    """A caption or transcript file cannot be read."""


class RecordError(WearwordError):
    """A findings file cannot be read, written or migrated."""


class TruthError(WearwordError):
    """A truth file is wrong; the text names file and sentence."""


class ReviewError(WearwordError):
    """A reviewer's decision cannot be applied."""


class PublishError(WearwordError):
    """An output cannot be made."""


class BatchError(WearwordError):
    """A batch cannot be begun or carried on."""


class LedgerError(WearwordError):
    """A ledger cannot be read or written."""
