"""The set-up sheet: everything that whoever stands at the machine needs, on two pages, in the shop's units."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from stillstock.answers.judgement import Verdict
from stillstock.answers.margin import MarginAnswer, answer_plain_margin
from stillstock.answers.margin_words import in_ascii, motion_words
from stillstock.answers.notices import Notice
from stillstock.answers.retract_height import RetractAnswer, RetractVerdict, answer_retract_height
from stillstock.answers.said import said
from stillstock.answers.sheet_consumables import BLANK, consumable_rows
from stillstock.answers.sheet_drawing import Picture, sheet_picture
from stillstock.answers.sheet_request import Paper, SheetWanted
from stillstock.answers.sheet_speaker import SheetSpeaker
from stillstock.answers.sheet_tables import (
    MOST_TOOLS,
    Row,
    first_lines,
    fitting,
    height_rows,
    holder_rows,
    placed_below,
    row_lines,
    tool_rows,
)
from stillstock.answers.sheet_words import IF_IT_SLIPS, cautions, checks, line_count, release, shortened, steps
from stillstock.engine.checks.check import Check
from stillstock.engine.holding.contact_list import contacts_of
from stillstock.engine.set_up import SetUp
from stillstock.settings import Limits
from stillstock.tables.catalogue import holder_entries
from stillstock.tables.load import Tables
from stillstock.units import System, unit_name

__all__ = ["Question", "Sheet", "answer_sheet"]

#: What margin and heights say in a word, the gravest first, and what the sheet shouts.
_VERDICTS = (
    (Verdict.LETS_GO, None, "DOES NOT HOLD: DO NOT START"),
    (Verdict.LETS_GO, RetractVerdict.MEETS, "THE TOOL MEETS SOMETHING: DO NOT START"),
    (Verdict.UNKNOWN, RetractVerdict.UNKNOWN, "NOT ALL COULD BE JUDGED: DO NOT START ON THIS SHEET"),
    (Verdict.DOUBTFUL, RetractVerdict.DOUBTFUL, "DOUBTFUL: DO NOT START BEFORE THIS IS CLEARED UP"),
    (Verdict.HOLDS, RetractVerdict.CLEAR, "HOLDS"),
)
_BOTH = "DOES NOT HOLD, TOOL MEETS SOMETHING: DO NOT START"
Group = tuple[str, tuple[str, ...]]

#: Lines of the second page, in two columns, for all but what is always there; what release may take of them, what
#: cautions get at least, beyond how many what must be said goes to a third page; characters of a line. [-]
_LINES, _RELEASE_LINES, _CAUTION_LINES, _MUST_LINES, _WIDTH = 88, 20, 14, 16, 48
_MOST_CONSUMABLES, _MOST_NOTES, _MOST_FAILED, _MOST_REASONS = 4, 3, 2, 20
#: Characters of the title and of what tells the sheet from others. [-]
_TITLE, _VALUE = 80, 28
#: Room for the pictures on the first page if all else took no line beyond what is always there, what a line takes, and
#: lines that leave the pictures enough. [m], [m], [-]
_PICTURE, _LINE, _MOST_LINES = (0.184, 0.178), 0.0051, 24


@dataclass(frozen=True, kw_only=True)
class Question:
    """A set-up whose sheet is wanted.

    Attributes
    ----------
    set_up : SetUp
    system : {"metric", "inch"}
    wanted : SheetWanted
    name, program_name : str
        Of the job, and of the program's file.
    zero : str
        ``"stock_top"`` or ``"bed"``.
    limits : Limits
    fingerprint : str
    """

    set_up: SetUp
    system: System
    wanted: SheetWanted
    name: str
    program_name: str
    zero: str
    limits: Limits
    fingerprint: str


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """What stands on the sheet, in the order of reading; all text, nothing escaped.

    Attributes
    ----------
    paper : Paper
    title, summary, verdict, verdict_words : str
    head : tuple of (label, value)
    hold : tuple of str
        Margin, weakest point, checks that fail.
    picture : Picture
    holders, tools : tuple of rows
    holders_heads, tools_heads : rows
    heights : tuple of (label, value)
    clear_up : tuple of str
        All that keeps the verdict from a plain yes.
    places : tuple of str
        Of the holders for whose places the table has no room.
    apart : bool
        Whether these two stand on a third page.
    steps, release : tuple of (heading, sentences)
    checks, cautions, notes : tuple of str
    if_it_slips : str
    consumables_head : row
    consumables : tuple of rows
    left_out : tuple of str
        What had no room, and where it is found.
    fingerprint : str
    """

    paper: Paper
    title: str
    summary: str
    verdict: str
    verdict_words: str
    head: tuple[tuple[str, str], ...]
    hold: tuple[str, ...]
    picture: Picture
    holders_head: Row
    holders: tuple[Row, ...]
    tools_head: Row
    tools: tuple[Row, ...]
    heights: tuple[tuple[str, str], ...]
    clear_up: tuple[str, ...]
    places: tuple[str, ...]
    apart: bool
    steps: tuple[Group, ...]
    checks: tuple[str, ...]
    consumables_head: Row
    consumables: tuple[Row, ...]
    release: tuple[Group, ...]
    if_it_slips: str
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    left_out: tuple[str, ...]
    fingerprint: str


def answer_sheet(question: Question, tables: Tables) -> Sheet:
    """Return the sheet of a set-up, its margin and safe heights reckoned.

    Raises
    ------
    ImpossibleSetUp, NotInBalance, NothingToJudge, TooMuchWork
        As the margin does: what cannot be judged gets no sheet.
    """
    set_up = question.set_up
    margin = answer_plain_margin(set_up, tables, limits=question.limits, fingerprint=question.fingerprint)
    heights = answer_retract_height(
        set_up, tables, limits=question.limits, fingerprint=question.fingerprint, system=question.system
    )
    return _sheet(question, tables, margin, heights)


def _sheet(question: Question, tables: Tables, margin: MarginAnswer, heights: RetractAnswer) -> Sheet:
    set_up, wanted = question.set_up, question.wanted
    speaker = SheetSpeaker(question.system)
    length = unit_name("length", question.system)
    verdict, words = _verdict(margin.verdict, heights.verdict)
    title = (question.name or wanted.part or question.program_name or "Set-up sheet")[:_TITLE]
    head = tuple((label, value[:_VALUE]) for label, value in _head(question))
    hold = (*_hold(margin, speaker), f"Heights: {heights.summary}")
    lines = first_lines(title, head, (margin.summary, *hold))
    tools, more_tools = fitting(tool_rows(set_up, margin.moves, speaker), lines=MOST_TOOLS)
    lines += sum(row_lines(row) for row in tools)
    every = holder_rows(set_up, heights, margin.holders, speaker)
    holders, places = placed_below(every, lines=_MOST_LINES - lines)
    lines += sum(row_lines(row) for row in holders)
    clear_up = () if verdict is Verdict.HOLDS else _clear_up(margin, heights, question.system)
    must = (*clear_up, *places)
    apart = sum(_lines(line) for line in must) > _MUST_LINES
    second = _second_page(question, tables, taken=() if apart else must)
    left_out = (("tools", more_tools), *second.left_out)
    return Sheet(
        paper=wanted.paper,
        title=title,
        summary=margin.summary,
        verdict=str(verdict),
        verdict_words=words,
        head=head,
        hold=hold,
        picture=sheet_picture(
            set_up,
            contacts_of(set_up, tables),
            heights,
            worst=margin.worst.at[:2],
            room=(_PICTURE[0], _PICTURE[1] - _LINE * lines),
            speaker=speaker,
        ),
        holders_head=("No.", "Holder", f"At [{length}]", "Set to", f"Top [{length}]", "Carries"),
        holders=holders,
        tools_head=("Tool", "Cutter", "Stickout", "Greatest speed and feed"),
        tools=tools,
        heights=height_rows(set_up, heights, question.zero, speaker),
        clear_up=clear_up,
        places=places,
        apart=apart,
        steps=second.steps,
        checks=checks(set_up),
        consumables_head=("Consumable", "Opened", "Made", "Test from", "Replace from", "State"),
        consumables=second.consumables,
        release=second.release,
        if_it_slips=IF_IT_SLIPS,
        cautions=second.cautions,
        notes=second.notes,
        left_out=tuple(_left_out(left_out)),
        fingerprint=question.fingerprint,
    )


@dataclass(frozen=True, kw_only=True)
class _SecondPage:
    """What the second page has room for, and how much of what it has none for."""

    steps: tuple[Group, ...]
    release: tuple[Group, ...]
    cautions: tuple[str, ...]
    consumables: tuple[Row, ...]
    notes: tuple[str, ...]
    left_out: tuple[tuple[str, int], ...]


def _second_page(question: Question, tables: Tables, *, taken: Sequence[str]) -> _SecondPage:
    """Return what has room beside the sentences that must stand there, whatever they take."""
    set_up, wanted, entries = question.set_up, question.wanted, holder_entries()
    speaker = SheetSpeaker(question.system)
    kinds = [holder.kind for holder in set_up.holders]
    wares = consumable_rows(wanted.consumables, kinds, today=wanted.day, tables=tables)
    notes = wanted.notes[:_MOST_NOTES]
    left = _LINES - sum(_lines(line) for line in taken)
    left -= 3 * min(len(wares), _MOST_CONSUMABLES) + sum(1 + len(note) // _WIDTH for note in notes)
    most = left - _RELEASE_LINES - _CAUTION_LINES
    in_order, more_steps = shortened(steps(set_up, entries, question.zero, speaker), lines=most, width=_WIDTH)
    off, more_release = shortened(release(set_up, entries), lines=_RELEASE_LINES, width=_WIDTH)
    left -= line_count(in_order, width=_WIDTH) + line_count(off, width=_WIDTH)
    warned, more_cautions = shortened([("", cautions(set_up, entries))], lines=left, width=_WIDTH)
    return _SecondPage(
        steps=in_order,
        release=off,
        cautions=warned[0][1],
        consumables=wares[:_MOST_CONSUMABLES],
        notes=notes,
        left_out=(
            ("steps", more_steps),
            ("release steps", more_release),
            ("cautions", more_cautions),
            ("consumables", max(0, len(wares) - _MOST_CONSUMABLES)),
            ("notes", max(0, len(wanted.notes) - _MOST_NOTES)),
        ),
    )


def _lines(text: str) -> int:
    """Return how many lines a sentence with a box to tick takes on the second page. [-]"""
    return 1 + len(text) // _WIDTH


def _verdict(margin: Verdict, heights: RetractVerdict) -> tuple[Verdict, str]:
    """Return the graver of both verdicts, and its words."""
    if margin is Verdict.LETS_GO and heights is RetractVerdict.MEETS:
        return margin, _BOTH
    verdict, _, words = next(item for item in _VERDICTS if margin is item[0] or heights is item[1])
    return verdict, words


def _head(question: Question) -> Iterator[tuple[str, str]]:
    """Yield what tells one sheet from another; blanks are filled in by hand."""
    wanted = question.wanted
    yield "Part", wanted.part or question.name or BLANK
    yield "Revision", wanted.revision or BLANK
    yield "Date", wanted.day.isoformat() if wanted.day else BLANK
    yield "By", wanted.prepared_by or BLANK
    yield "Machine", wanted.machine or BLANK
    yield "Program", question.program_name or BLANK
    yield "Pieces", str(wanted.pieces) if wanted.pieces else BLANK
    yield "Units", "inch" if question.system == "inch" else "mm"


def _hold(margin: MarginAnswer, speaker: SheetSpeaker) -> tuple[str, ...]:
    """Return margin, weakest point and the checks that fail, a line each."""
    lines = [
        f"Margin {speaker.factor(margin.typical)} typical, {speaker.factor(margin.pessimistic)} with everything "
        f"against you; asked {speaker.factor(margin.required)}."
    ]
    worst = margin.worst
    if worst.line or worst.cut:
        where = f"line {worst.line}" if worst.line else worst.cut[:_VALUE]
        how = f", {motion_words(margin.let_go)}" if margin.let_go else ""
        lines.append(f"Weakest point: {where} at {speaker.place(*worst.at)}{how}.")
    failed = [check for check in margin.checks if not check.ok]
    lines += [f"{one.detail} (holder {int(one.pointer.split('/')[2]) + 1})." for one in _beside(margin)]
    lines += [f"NOT IN ORDER: {_check_words(check, speaker.system)}" for check in failed[:_MOST_FAILED]]
    if len(failed) > _MOST_FAILED:
        more = len(failed) - _MOST_FAILED
        lines.append(f"NOT IN ORDER: {more} more check{'s' if more > 1 else ''}, under Clear up before the start.")
    return tuple(lines)


def _beside(margin: MarginAnswer) -> list[Notice]:
    """Return what is said of tape that lies in part beside the stock: it is laid at this machine."""
    return [one for one in margin.warnings if one.code == "partly_beside"]


def _clear_up(margin: MarginAnswer, heights: RetractAnswer, system: System) -> tuple[str, ...]:
    """Return every check that fails, all that was not judged, all that the tool meets, and what else is in doubt."""
    said_of = [margin.summary]
    said_of += [f"NOT IN ORDER: {_check_words(check, system)}" for check in margin.checks if not check.ok]
    unsaid = [one for one in margin.reasons if in_ascii(one) not in margin.summary]
    every = tuple(dict.fromkeys((*said_of, *unsaid, *heights.reasons)))
    more = len(every) - _MOST_REASONS + max(0, heights.meetings_total - len(heights.meetings))
    if len(every) <= _MOST_REASONS:
        return every
    return (*every[:_MOST_REASONS], f"... and {more} more: ask /v1/margin and /v1/retract-height.")


def _check_words(check: Check, system: System) -> str:
    which = "" if check.holder is None else f" of holder {check.holder + 1}"
    return f"{check.name.replace('_', ' ')}{which}: {said(check.detail, check.numbers, system)}"


def _left_out(counts: Sequence[tuple[str, int]]) -> Sequence[str]:
    found = [f"{count} {what}" for what, count in counts if count]
    return [f"No room for {', '.join(found)}: the set-up and GET /v1/holders/{{kind}} have all."] if found else []
