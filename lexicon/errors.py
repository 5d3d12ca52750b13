"""The one error that the lexicon raises."""


class LexiconError(Exception):
    """Lexicon files are wrong. Each of `faults` is one line naming file and entry.

    The error's own text is one line: the first fault, and how many more there are.
    """

    def __init__(self, *faults: str):
        more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
        super().__init__(faults[0] + more)
        self.faults = faults
