"""Text that may stand in a file: what a caller wrote is data and nothing else."""

import re

__all__ = ["clean", "markup", "program_comment"]

# Control characters, lone surrogates and non-characters are not allowed in XML 1.0 (W3C, 5th ed., production 2);
# direction overrides make a line read as what it is not.
_UNPRINTABLE = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]")
_COMMENT_WIDTH = 70  # characters; small controllers take lines of 80 at most (common practice, no source)
_GOES_ON = "... "  # a line that began with the caller's own words could be an active comment


def clean(text: str, *, longest: int = 200) -> str:
    r"""Return `text` in one line, each unprintable character as U+FFFD, cut to `longest` characters.

    Examples
    --------
    >>> clean("left\x00 side")
    'left� side'
    """
    return _UNPRINTABLE.sub("\ufffd", re.sub(r"[\t\r\n]+", " ", text))[:longest]


def markup(text: str, *, longest: int = 200) -> str:
    """Return `text` so that it is character data in XML or HTML, in an attribute too."""
    cleaned = clean(text, longest=longest)
    for sign, entity in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ('"', "&quot;"), ("'", "&#39;")):
        cleaned = cleaned.replace(sign, entity)
    return cleaned


def program_comment(subject: str, text: str) -> list[str]:
    """Return comment lines of an RS-274 program: ASCII, no brackets or signs that a controller acts on.

    The subject stands first, so that no text of a caller's can make an active comment (``MSG,``, ``LOG,``).

    Examples
    --------
    >>> program_comment("bit", "60 deg) M30 (%")
    ['(bit: 60 deg] M30 [ )']
    """
    plain = clean(text, longest=600).translate({ord("("): "[", ord(")"): "]", ord("%"): " ", ord(";"): ","})
    words = f"{subject}: {plain}".encode("ascii", "replace").decode("ascii").split(" ")
    lines = [""]
    for word in (piece for long in words for piece in _pieces(long)):
        if lines[-1] and len(lines[-1]) + 1 + len(word) > _COMMENT_WIDTH:
            lines.append(f"{_GOES_ON}{word}")
        else:
            lines[-1] = f"{lines[-1]} {word}" if lines[-1] else word
    return [f"({line})" for line in lines]


def _pieces(word: str) -> list[str]:
    width = _COMMENT_WIDTH - len(_GOES_ON)
    return [word[start : start + width] for start in range(0, len(word), width)] or [""]
