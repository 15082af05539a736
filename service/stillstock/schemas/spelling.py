"""Which known word a misspelt one plainly means."""

from collections.abc import Iterable, Mapping

__all__ = ["plainly_meant"]

#: Slips of the pen that still leave a word plain, and in how many letters one is forgiven; own judgement. [-]
MOST_SLIPS, LETTERS_A_SLIP = 2, 3


def plainly_meant(word: str, known: Iterable[str] | Mapping[str, str]) -> str | None:
    """Return what a word plainly means: the one that is a slip or two away, if no other is as near.

    Parameters
    ----------
    word : str
        As it came; case, blanks and hyphens do not count.
    known : iterable of str, or mapping of str
        Words, or what each of several words for a thing means.

    Examples
    --------
    >>> plainly_meant("strap-clmap", ["strap_clamp", "side_clamp"])
    'strap_clamp'
    >>> plainly_meant("pins", ["lines", "stops"]) is None
    True
    """
    asked = _folded(word[:60])
    most = min(MOST_SLIPS, len(asked) // LETTERS_A_SLIP)
    means = known if isinstance(known, Mapping) else {name: name for name in known}
    slips: dict[str, int] = {}
    for name, meaning in means.items():
        folded = _folded(name)
        if abs(len(folded) - len(asked)) <= most:
            slips[meaning] = min(slips.get(meaning, len(asked) + 1), _slips(asked, folded))
    least = min(slips.values(), default=most + 1)
    nearest = [meaning for meaning, count in slips.items() if count == least]
    return nearest[0] if least <= most and len(nearest) == 1 else None


def _folded(word: str) -> str:
    return word.casefold().replace("-", "_").replace(" ", "_")


def _slips(one: str, other: str) -> int:
    """Return how many letters to add, drop, replace or swap with the next make one word of the other. [-]

    The restricted edit distance of Damerau and Levenshtein, row by row.
    """
    before, last = [0] * (len(other) + 1), list(range(len(other) + 1))
    for i, a in enumerate(one, 1):
        row = [i]
        for j, b in enumerate(other, 1):
            row.append(min(last[j] + 1, row[-1] + 1, last[j - 1] + (a != b)))
            if i > 1 and j > 1 and a == other[j - 2] and one[i - 2] == b:
                row[-1] = min(row[-1], before[j - 2] + 1)
        before, last = last, row
    return last[-1]
