"""How long consumables keep, counted from the dates that are known."""

import calendar
from collections.abc import Iterator, Sequence
from datetime import date

from stillstock.answers.sheet_request import Consumable, Ware
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Triple

__all__ = ["BLANK", "consumable_rows", "months_later", "wares_of"]

#: Where somebody writes by hand.
BLANK = "__________"
#: A month of the tables. [s]
_MONTH = 365.25 / 12.0 * 86400.0
#: What each kind of holder uses up.
_USED_BY = {
    "film_tape": (Ware.FILM_TAPE,),
    "foam_tape": (Ware.FOAM_TAPE,),
    "tape_and_ca": (Ware.CYANOACRYLATE, Ware.MASKING_TAPE),
}


def months_later(day: date, months: int) -> date:
    """Return the same day some months later, or the last day of that month if it is shorter.

    Examples
    --------
    >>> months_later(date(2026, 8, 31), 6).isoformat()
    '2027-02-28'
    """
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def wares_of(kinds: Sequence[str]) -> tuple[Ware, ...]:
    """Return what holders of these kinds use up, each once."""
    return tuple(dict.fromkeys(ware for kind in kinds for ware in _USED_BY.get(kind, ())))


def consumable_rows(
    stated: Sequence[Consumable], kinds: Sequence[str], *, today: date | None, tables: Tables
) -> tuple[tuple[str, ...], ...]:
    """Return a row for each consumable: what, opened, made, test from, replace from, and how it stands on the day.

    What the holders use up and nobody stated gets a row to be filled in by hand.
    """
    missing = [Consumable(ware=ware) for ware in wares_of(kinds) if ware not in {one.ware for one in stated}]
    return tuple(_row(one, today, tables) for one in (*stated, *missing))


def _row(one: Consumable, today: date | None, tables: Tables) -> tuple[str, ...]:
    words = one.ware.value.replace("_", " ")
    name = f"{one.name} ({words})" if one.name else words
    limits = list(_limits(one, tables))
    if not limits:
        return name, _day(one.opened), _day(one.made), *(_life(one.ware, tables)), BLANK
    doubt, end = (min(days) for days in zip(*limits, strict=True))
    return name, _day(one.opened), _day(one.made), doubt.isoformat(), end.isoformat(), _state(doubt, end, today)


def _limits(one: Consumable, tables: Tables) -> Iterator[tuple[date, date]]:
    """Yield from when it should be tested first, and from when replaced, by each date that is known."""
    for day, life in ((one.opened, "shelf_life_opened"), (one.made, "shelf_life_unopened")):
        if day is not None:
            low, typical = _months(tables.value("tape", one.ware.value, life))
            yield months_later(day, low), months_later(day, typical)


def _months(life: Triple) -> tuple[int, int]:
    return round(life.low / _MONTH), round(life.typical / _MONTH)


def _life(ware: Ware, tables: Tables) -> tuple[str, str]:
    low, typical = _months(tables.value("tape", ware.value, "shelf_life_opened"))
    return f"opened + {low} mo", f"opened + {typical} mo"


def _day(day: date | None) -> str:
    return BLANK if day is None else day.isoformat()


def _state(doubt: date, end: date, today: date | None) -> str:
    if today is None:
        return BLANK
    if today >= end:
        return "REPLACE"
    return "test first" if today >= doubt else "in date"
