"""What stands in a sheet's tables: holders, tools, zero and heights."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields
from typing import Any

import numpy as np

from stillstock.answers.margin import HolderShare
from stillstock.answers.retract_height import RetractAnswer
from stillstock.answers.sheet_consumables import BLANK
from stillstock.answers.sheet_speaker import SheetSpeaker
from stillstock.engine.program.moves import FEED, Moves
from stillstock.engine.set_up import SetUp, Tool
from stillstock.tables.scatter import Triple

__all__ = [
    "MOST_TOOLS",
    "Row",
    "first_lines",
    "fitting",
    "height_rows",
    "holder_rows",
    "number_words",
    "placed_below",
    "row_lines",
    "tool_rows",
]

Row = tuple[str, ...]
MOST_TOOLS = 3  # lines that their table may take [-]
#: Characters of a line in the columns of holders (6) and of tools (4), across the page, in the title, and in one
#: of the four columns beneath it. [-]
_COLUMNS: Mapping[int, Sequence[int]] = {6: (10, 13, 25, 27, 9, 9), 4: (8, 36, 18, 34)}
_ACROSS, _TITLE, _QUARTER = 88, 46, 21
#: Characters of places in the table of holders, and of a sentence of them below; runs of numbers in a cell. [-]
_PLACES, _SENTENCE, _MOST_RUNS = 75, 400, 40

#: Members that somebody has to set, choose or read off, in the order in which a sheet names them.
_SET = (
    "bolt",
    "anchor",
    "torque",
    "drive",
    "drive_force",
    "handle",
    "gauge",
    "diameter",
    "depth",
    "thickness",
    "height",
    "grip",
    "pressure",
    "pump",
    "seal",
)


def holder_rows(
    set_up: SetUp, answer: RetractAnswer, shares: Sequence[HolderShare], speaker: SheetSpeaker
) -> tuple[Row, ...]:
    """Return a row for each group of holders that are set alike.

    A row is numbers, kind, places, what it is set to, its height above the bed, and the share that it carries.
    """
    alike: dict[tuple[str, str], list[int]] = {}
    for number, holder in enumerate(set_up.holders):
        alike.setdefault((holder.title, _settings(holder, speaker)), []).append(number)
    tops = _tops(set_up, answer)
    carried = {share.holder: share.share for share in shares}
    return tuple(
        (
            number_words(numbers, most=_MOST_RUNS),
            title,
            _where(set_up, numbers, speaker),
            settings,
            _height(max((tops[n] for n in numbers if n in tops), default=None), speaker),
            _percent(sum(carried.get(number, 0.0) for number in numbers)),
        )
        for (title, settings), numbers in alike.items()
    )


def number_words(numbers: Sequence[int], *, most: int = 6) -> str:
    """Return numbers from 1, runs as from-to; of more than so many runs the first, and how many more there are."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    said = [f"{a + 1}" if a == b else f"{a + 1}-{b + 1}" for a, b in runs]
    return ", ".join(said[:most]) + (f" +{len(said) - most}" if len(said) > most else "")


def _where(set_up: SetUp, numbers: Sequence[int], speaker: SheetSpeaker) -> str:
    places = {number + 1: said for number in numbers if (said := _place(set_up.holders[number], speaker))}
    if len(places) <= 2:
        return "; ".join(places.values()) or "-"
    return _in_rows(list(places.values())) or "; ".join(f"{number}: {at}" for number, at in places.items())


def _in_rows(places: Sequence[str]) -> str:
    """Return points that stand at every crossing of a few lines by those lines, as ``X15/X385 Y60/Y240``."""
    pairs = [tuple(place.split(" ")) for place in places]
    if {len(pair) for pair in pairs} != {2}:
        return ""
    lines = [tuple(dict.fromkeys(axis)) for axis in zip(*pairs, strict=True)]
    every = {(x, y) for x in lines[0] for y in lines[1]}
    if min(map(len, lines)) < 2 or len(pairs) != len(every) or set(pairs) != every:
        return ""
    return " ".join("/".join(axis) for axis in lines)


def placed_below(rows: Sequence[Row], *, lines: int) -> tuple[tuple[Row, ...], tuple[str, ...]]:
    """Return the rows of holders that the first page has room for, and the places that stand below instead.

    Parameters
    ----------
    rows : sequence of rows
        Of `holder_rows`.
    lines : int
        Room of their table. [-]

    Returns
    -------
    tuple
        Rows, and sentences: no holder is without its place, be it where there is room.
    """
    short = [row if len(row[2]) <= _PLACES else (*row[:2], "under Places of holders", *row[3:]) for row in rows]
    kept, _ = fitting(short, lines=lines)
    told: list[str] = []
    for number, row in enumerate(rows):
        if number < len(kept) and kept[number] == row:
            continue
        settings = f" ({row[3]})" if number >= len(kept) and row[3] else ""
        told += _wrapped(f"{row[1]} {row[0]}{settings}: {row[2]}")
    return kept, tuple(told)


def _wrapped(text: str) -> Iterator[str]:
    """Yield a long list in sentences, broken between its places."""
    line = ""
    for piece in text.split("; "):
        if line and len(line) + len(piece) > _SENTENCE:
            yield f"{line};"
            line = piece
        else:
            line = f"{line}; {piece}" if line else piece
    yield line


def _place(holder: Any, speaker: SheetSpeaker) -> str:
    for item in fields(holder):
        value, kind = getattr(holder, item.name), item.metadata.get("kind")
        if kind == "point" and value is not None:
            return speaker.place(*value[:2])
        if kind == "outline" and value is not None:
            (x0, y0), (x1, y1) = np.min(value, axis=0), np.max(value, axis=0)
            return f"{speaker.place(float(x0), float(y0))} to {speaker.place(float(x1), float(y1))}"
    return ""


def _settings(holder: Any, speaker: SheetSpeaker) -> str:
    known = {item.name: item.metadata for item in fields(holder)}
    return ", ".join(
        said for name in _SET if name in known and (said := _setting(name, getattr(holder, name), known[name], speaker))
    )


def _setting(name: str, value: Any, metadata: Mapping[str, Any], speaker: SheetSpeaker) -> str:
    if value is None:
        return "torque by hand" if name == "torque" else ""
    if metadata["kind"] in ("quantity", "scatter"):
        number = value.typical if isinstance(value, Triple) else value
        return f"{name.replace('_', ' ')} {speaker.quantity(number, metadata['dimension'])}"
    return f"{name} {value}".replace("_", " ") if name in ("gauge", "seal") else str(value).replace("_", " ")


def _tops(set_up: SetUp, answer: RetractAnswer) -> dict[int, float]:
    """Return the height above the bed of the tallest body of each holder that stands on it. [m]"""
    tops: dict[int, float] = {}
    for body in answer.bodies:
        tops[body.holder] = max(tops.get(body.holder, 0.0), body.high - set_up.bed.top)
    return tops


def _height(value: float | None, speaker: SheetSpeaker) -> str:
    return "-" if value is None or value <= 0.0 else speaker.bare(value)


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f} %" if share >= 0.005 else "-"


def tool_rows(set_up: SetUp, moves: Moves | None, speaker: SheetSpeaker) -> tuple[Row, ...]:
    """Return a row for each tool: number, cutter, stickout, speed and feed."""
    return tuple(
        (f"T{number}", _cutter(tool, speaker), _or_blank(tool.stickout, speaker), _rates(set_up, tool, moves, speaker))
        for number, tool in sorted(set_up.tools.items())
    )


def row_lines(row: Row) -> int:
    """Return how many lines a row of either table takes. [-]"""
    return max(1 + max(0, len(cell) - 1) // width for cell, width in zip(row, _COLUMNS[len(row)], strict=True))


def fitting(rows: Sequence[Row], *, lines: int) -> tuple[tuple[Row, ...], int]:
    """Return the first rows that a number of lines has room for, and how many have none. [-]"""
    kept = 0
    while kept < len(rows) and lines >= row_lines(rows[kept]):
        lines -= row_lines(rows[kept])
        kept += 1
    return tuple(rows[:kept]), len(rows) - kept


def first_lines(title: str, head: Sequence[tuple[str, str]], said: Sequence[str]) -> int:
    """Return the lines that the head of the first page takes beyond one of the title and two beneath it. [-]"""
    rows = [head[start : start + 4] for start in range(0, len(head), 4)]
    quarters = [max((len(label) + len(value)) // _QUARTER for label, value in row) for row in rows]
    return 2 * (len(title) // _TITLE) + sum(quarters) + sum(1 + len(line) // _ACROSS for line in said)


def _cutter(tool: Tool, speaker: SheetSpeaker) -> str:
    flutes = "flute" if tool.flutes == 1 else "flutes"
    return f"{speaker.length(tool.diameter)} {tool.kind.replace('_', ' ')}, {tool.flutes} {flutes}, {tool.helix}"


def _or_blank(value: float | None, speaker: SheetSpeaker) -> str:
    return BLANK if value is None else speaker.length(value)


def _rates(set_up: SetUp, tool: Tool, moves: Moves | None, speaker: SheetSpeaker) -> str:
    """Return the greatest speed and feed that the job asks of a tool."""
    feeds, speeds = _rates_of(set_up, tool, moves)
    said = [f"S{speaker.quantity(max(speeds), 'angular_speed')}"] if speeds else []
    said += [f"F{speaker.quantity(max(feeds), 'speed')}"] if feeds else []
    return ", ".join(said) or "-"


def _rates_of(set_up: SetUp, tool: Tool, moves: Moves | None) -> tuple[list[float], list[float]]:
    cuts = [cut for cut in set_up.cuts if cut.tool == tool.number]
    feeds, speeds = [cut.feed for cut in cuts], [cut.speed for cut in cuts]
    if moves is not None:
        chosen = (moves.kind == FEED) & (moves.tool == tool.number) & moves.known
        if chosen.any():
            feeds.append(float(moves.feed[chosen].max()) * set_up.feed_override)
            speeds.append(float(np.abs(moves.speed[chosen]).max()))
    return [feed for feed in feeds if feed > 0.0], [speed for speed in speeds if speed > 0.0]


def height_rows(set_up: SetUp, answer: RetractAnswer, zero: str, speaker: SheetSpeaker) -> tuple[tuple[str, str], ...]:
    """Return what the person at the machine sets or measures: label and value."""
    return tuple(_heights(set_up, answer, zero, speaker))


def _heights(set_up: SetUp, answer: RetractAnswer, zero: str, speaker: SheetSpeaker) -> Iterator[tuple[str, str]]:
    stock, bed = set_up.stock, set_up.bed
    yield "X0 Y0", _zero_place(-stock.origin[0], -stock.origin[1], speaker)
    yield "Z0", "face of the bed" if zero == "bed" else "top of the stock"
    thick = " to ".join(dict.fromkeys(speaker.bare(value) for value in stock.thickness))
    yield "Stock", f"{speaker.bare(stock.size[0])} x {speaker.bare(stock.size[1])} x {thick}, measured {BLANK}"
    yield "Material", stock.material.title
    yield "Bed", f"{bed.material.title} {speaker.length(bed.thickness)}, face at Z{speaker.bare(bed.top)}"
    yield "Clearance", f"Z{speaker.bare(answer.clearance)} over everything"
    yield "Retract", f"Z{speaker.bare(answer.retract)} between cuts"


def _zero_place(x: float, y: float, speaker: SheetSpeaker) -> str:
    corner = "the front left corner of the stock"
    beside = [
        f"{speaker.bare(abs(value))} {words[value < 0.0]}"
        for value, words in ((x, ("right of", "left of")), (y, ("behind", "before")))
        if speaker.bare(abs(value)) != "0"
    ]
    return f"{' and '.join(beside)} {corner}" if beside else f"on {corner}"
