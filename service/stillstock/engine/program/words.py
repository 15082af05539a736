"""Splitting a line of a program into words; linear in its length, whatever is in it.

The shape of words, comments, spaces and block delete follows T. R. Kramer, F. M. Proctor, E. Messina, "The NIST
RS274NGC Interpreter - Version 3", NISTIR 6556, 2000, section 3.3 (from memory): spaces and case do not matter outside
comments, a number may lack its leading zero or carry a plus sign.
"""

import re
from dataclasses import dataclass, field

__all__ = ["LINE_LIMIT", "PLAIN", "Line", "split_line", "text_lines"]

LINE_LIMIT = 4096
"""Characters of a line that are read; NISTIR 6556 allows 256, senders write long comments. [-]"""

_NUMBER = r"[+-]?+(?:[0-9]++\.?+[0-9]*+|\.[0-9]++)"

PLAIN = re.compile(
    rf" *+(?:N[0-9]++ *+)?+(?:G0?+([01])(?![0-9.]) *+)?+(?:X({_NUMBER}) *+)?+(?:Y({_NUMBER}) *+)?+"
    rf"(?:Z({_NUMBER}) *+)?+(?:F([0-9]{{1,6}}+\.?+[0-9]*+) *+)?+"
)
"""A line with nothing but G0 or G1, X, Y, Z and F, in this order: nearly all lines of a long program.

A feed that cannot be (negative, huge) does not match. Possessive throughout, so that a line that does not match is
refused in one pass.
"""

_TOKEN = re.compile(rf"([A-Z])({_NUMBER})(?:E([+-]?+[0-9]++))?+|(.)", re.DOTALL)
_EXPRESSION = re.compile(r"[#\[\]]")
_PROGRAM_NUMBER = re.compile(r"[O:][0-9]++(?=[A-Z]?[0-9.+-]|$)")


@dataclass(kw_only=True)
class Line:
    """The words of one line.

    Attributes
    ----------
    values : dict of str to float
        Number of every word save G, M, N and O. [program units]
    g, m : lists of float
        Numbers of the G and M words, in order. [-]
    problems : list of (str, str)
        Code and detail of what could not be read; each makes the answer doubtful.
    lost : str
        Letters of the axes whose numbers could not be read.
    deleted : bool
        True if the line opens with the block-delete slash.
    percent : bool
        True if the line is a percent sign.
    """

    values: dict[str, float] = field(default_factory=dict)
    g: list[float] = field(default_factory=list)
    m: list[float] = field(default_factory=list)
    problems: list[tuple[str, str]] = field(default_factory=list)
    lost: str = ""
    deleted: bool = False
    percent: bool = False

    def __bool__(self) -> bool:
        return bool(self.values or self.g or self.m or self.problems or self.lost)


def text_lines(text: str) -> list[str]:
    """Lines of a text as an editor counts them: LF, CR LF or CR ends one, nothing else does."""
    lines = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if not lines[-1]:
        lines.pop()
    return lines


def split_line(text: str) -> Line:
    """Words of one line, its comments taken out.

    Parameters
    ----------
    text : str
        The line; read up to `LINE_LIMIT` characters.

    Returns
    -------
    Line
        Empty if the line says nothing to the machine.
    """
    line = Line()
    if len(text) > LINE_LIMIT:
        line.problems.append(("long_line", f"the line is longer than {LINE_LIMIT} characters; its rest was not read"))
        # The last word may be cut in the middle of its number.
        text = text[:LINE_LIMIT].rstrip("0123456789.+- \t")[:-1]
    body = _without_comments(text, line)
    body = "".join(body.encode("ascii", "replace").decode("ascii").split()).upper()
    if body.startswith("/"):
        line.deleted = True
        body = body[1:]
    if body.startswith("%"):
        line.percent = True
        body = body[1:]
    number = _PROGRAM_NUMBER.match(body)
    if number:
        body = body[number.end() :]
    elif body.startswith("O"):
        line.problems.append(("subprogram", "an O word that calls or opens a subprogram; it was not followed"))
        return line
    if _EXPRESSION.search(body):
        _refuse_expression(body, line)
        return line
    _read_words(body, line)
    return line


def _without_comments(text: str, line: Line) -> str:
    """Text outside of ``( )`` and before ``;``."""
    if "(" not in text and ";" not in text:
        return text
    kept, at = [], 0
    while at < len(text):
        opening = text.find("(", at)
        semicolon = text.find(";", at)
        if semicolon >= 0 and (opening < 0 or semicolon < opening):
            kept.append(text[at:semicolon])
            break
        if opening < 0:
            kept.append(text[at:])
            break
        kept.append(text[at:opening])
        closing = text.find(")", opening)
        if closing < 0:
            line.problems.append(("comment", "a comment is opened with ( and not closed on its line"))
            break
        at = closing + 1
    return "".join(kept)


def _refuse_expression(body: str, line: Line) -> None:
    """Parameters and expressions are not worked out: say so, and which axes they leave unknown."""
    line.problems.append(
        ("expression", "a parameter or an expression (# or [ ]) is not worked out; the line was not read")
    )
    if not body.startswith("#"):
        line.lost = "".join(axis for axis in "XYZ" if axis in body)


def _read_words(body: str, line: Line) -> None:
    """Put every word of `body` where it belongs."""
    unread = []
    for match in _TOKEN.finditer(body):
        letter, digits, exponent, other = match.groups()
        if other is not None:
            unread.append(other)
            continue
        value = float(digits)
        if exponent is not None:
            line.problems.append(("exponent", "a number in exponent form, which controllers refuse"))
            value = float(f"{digits}E{exponent}")
        if letter == "G":
            line.g.append(value)
        elif letter == "M":
            line.m.append(value)
        elif letter not in "NO":
            if letter in line.values:
                line.problems.append(("repeated_word", f"{letter} stands twice on a line; the last one was taken"))
            line.values[letter] = value
    if unread:
        shown = "".join(unread[:12]).encode("unicode_escape").decode("ascii")
        line.problems.append(("unread_word", f"these characters are no word: {shown}"))
        line.lost = "".join(axis for axis in "XYZ" if axis in unread)
