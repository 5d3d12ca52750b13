"""Numbers as a person says them, each marked with how it may be written: `<spoken|written>`.

>>> spoken("It has <twelve thousand|12,000> miles")
'It has twelve thousand miles'
>>> written("It has <twelve thousand|12,000> miles")
'It has 12,000 miles'
"""

import re
import tomllib
from pathlib import Path
from random import Random
from typing import Any

WORDS: dict[str, Any] = tomllib.loads((Path(__file__).parent / "text" / "words.toml").read_text())

_MARK = re.compile(r"<([^|<>]*)\|([^|<>]*)>")
_SMALL = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
_SMALL += ["ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen"]
_SMALL += ["eighteen", "nineteen"]
_TENS = ["", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
_LETTERS = "BCDEFGHJKLMNPRSTUVWXYZ"  # a lone A is read "uh" by some engines


def spoken(text: str) -> str:
    """The text as it is said."""
    return _MARK.sub(r"\1", text)


def written(text: str) -> str:
    """The text with its numbers in digits."""
    return _MARK.sub(r"\2", text)


def cardinal(value: int) -> str:
    """A whole number below a million in words, as Americans say it: no "and"."""
    if value < 20:
        return _SMALL[value]
    if value < 100:
        tens, ones = divmod(value, 10)
        return _TENS[tens] + (f"-{_SMALL[ones]}" if ones else "")
    size, name = (1000, "thousand") if value >= 1000 else (100, "hundred")
    head, rest = divmod(value, size)
    return f"{cardinal(head)} {name}" + (f" {cardinal(rest)}" if rest else "")


def count(random: Random) -> str:
    """Two to a dozen or so."""
    value = random.choice([2, 2, 2, 3, 3, 3, 4, 4, 5, 6, 7, 8, 10, 12])
    return f"<{cardinal(value)}|{value}>"


def year(random: Random) -> str:
    """A model year."""
    value = random.randint(1972, 2026)
    head, rest = divmod(value, 100)
    ways = [f"{cardinal(head)} {cardinal(rest) if rest >= 10 else f'oh {_SMALL[rest]}'}"]
    if value >= 2000:
        ways += [f"two thousand {'and ' if random.random() < 0.5 else ''}{cardinal(rest)}"] * 2
    return f"<{random.choice(ways) if rest else 'two thousand'}|{value}>"


def distance(random: Random) -> str:
    """Miles, kilometres or hours."""
    unit = random.choice(["miles", "miles", "miles", "kilometers", "hours", "original miles"])
    top = 900 if unit == "hours" else 60_000
    exact, round_ = random.randint(3, top), random.randint(1, 60) * 500
    value = random.choice([exact, exact, round_])
    return f"<{cardinal(value)}|{value:,}> {unit}"


def size(random: Random) -> str:
    """A length, or a thing as a measure."""
    kind = random.random()
    if kind < 0.25:
        said, digits = random.choice(list(WORDS["fractions"].items()))
        return f"<{said}|{digits}>"
    if kind < 0.55:
        inches = random.randint(1, 12)
        part, digits = random.choice(
            [("", "")] * 3
            + [(" and a half", " 1/2"), (" and a quarter", " 1/4"), (" and three quarters", " 3/4")]
        )
        if inches == 1 and not part:
            return random.choice(["an inch", "about an inch", "an inch long", "an inch or so"])
        unit = random.choice(["inches", "inches", "inches long", "inches across", "inches or so"])
        return f"<{cardinal(inches)}{part}|{inches}{digits}> {unit}"
    if kind < 0.75:
        value = random.choice([2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 35, 40, 50, 60, 80])
        unit = random.choice(["millimeters", "millimeters", "centimeters", "centimeters long"])
        return f"<{cardinal(value)}|{value}> {unit}"
    thing = random.choice(WORDS["things"])
    ways = ["the size of a {}", "about the size of a {}", "maybe the size of a {}"]
    if random.random() < 0.3:
        return f"{thing} sized"
    return random.choice(ways).format(thing)


def area(random: Random) -> str:
    """A share of a surface."""
    value = random.choice([1, 2, 3, 5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 75, 80, 90])
    share = f"<{cardinal(value)} percent|{value}%>"
    return str(
        random.choice([f"about {share} of it", share, f"over {share} of it", *WORDS["areas"]])
    )


def stock(random: Random) -> str:
    """A stock number: letters and digits one by one."""
    letters = "".join(random.choices("BCDEFGHJKLMNPRSTUVWXYZ", k=random.choice([0, 1, 1, 2, 2, 3])))
    digits = "".join(random.choices("0123456789", k=random.choice([2, 3, 3, 4, 4, 5])))
    tail = random.choice(["", "", "", random.choice("BCDX")])
    code = letters + digits + tail
    return f"<{' '.join(_said(c, random) for c in code)}|{code}>"


def vin(random: Random) -> str:
    """A vehicle identification number, read out with or without spelling names."""
    return _spelled("".join(_vin_sign(random) for _ in range(17)), random)


def tail(random: Random) -> str:
    """The last characters of one."""
    return _spelled("".join(_vin_sign(random) for _ in range(random.choice([4, 6, 8]))), random)


def _vin_sign(random: Random) -> str:
    return random.choice("0123456789" if random.random() < 0.6 else _LETTERS)


def _said(sign: str, random: Random) -> str:
    if sign.isdigit():
        return "oh" if sign == "0" and random.random() < 0.3 else _SMALL[int(sign)]
    return sign


def _spelled(code: str, random: Random) -> str:
    style, mark = random.choice(["plain", "as in", "NATO"]), random.choice([", ", ", ", " "])
    signs = []
    for sign in code:
        letter = ord(sign) - ord("A")
        if sign.isdigit():
            signs.append(f"<{_said(sign, random)}|{sign}>")
        elif style == "NATO":
            signs.append(WORDS["nato"][letter])
        elif style == "as in" and random.random() < 0.6:
            signs.append(f"{sign} as in {WORDS['spelling_names'][letter]}")
        else:
            signs.append(sign)
    return mark.join(signs)
