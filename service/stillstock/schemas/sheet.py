"""What a sheet says besides the set-up, in."""

import re
from datetime import date
from typing import Any

from marshmallow import ValidationError, post_load, validates_schema

from stillstock.answers.sheet_request import Consumable, Paper, SheetWanted, Ware
from stillstock.schemas.flaws import Flaw, flawed
from stillstock.schemas.places import ListOf
from stillstock.schemas.quantity import Choice, Integer, Text
from stillstock.schemas.strict import Object, StrictSchema

__all__ = ["SheetSchema"]

_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


class Day(Text):
    """A day of the calendar, as ISO 8601 writes it: 2026-11-25."""

    def __init__(self, **more: Any) -> None:
        super().__init__(longest=10, **more)

    def read(self, value: Any) -> Any:
        """Return the day."""
        super().read(value)
        if not _DAY.fullmatch(value):
            raise flawed("day", "expected year, month and day such as 2026-11-25", late=True, seen=value)
        try:
            day = date.fromisoformat(value)
        except ValueError:
            raise flawed("day", "there is no such day in the calendar", late=True, seen=value) from None
        first, last = 1990, 2200
        if not first <= day.year <= last:
            detail = f"a day of a sheet lies between {first} and {last}"
            limit = first if day.year < first else last
            raise flawed("range", detail, late=True, limit=limit, seen=value)
        return day


class ConsumableSchema(StrictSchema):
    """A bottle or roll in use."""

    kind = Choice(tuple(Ware), required=True)
    name = Text(longest=60)
    opened = Day()
    made = Day()

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> Consumable:
        """Return the consumable."""
        return Consumable(ware=Ware(data.pop("kind")), **data)


class SheetSchema(StrictSchema):
    """What the caller wants on the sheet."""

    paper = Choice(tuple(Paper))
    part = Text(longest=80)
    revision = Text(longest=30)
    prepared_by = Text(longest=60)
    machine = Text(longest=60)
    day = Day(data_key="date")
    pieces = Integer(least=1, most=1_000_000)
    consumables = ListOf(Object(ConsumableSchema()), limit="holders")
    notes = ListOf(Text(longest=160), limit="holders")

    @validates_schema(skip_on_field_errors=True)
    def check_days(self, data: dict[str, Any], **_: Any) -> None:
        """Refuse what was opened or made after the day of the sheet."""
        today = data.get("day")
        late = {
            number: {name: [Flaw(code="order", detail="this lies after the date of the sheet", late=True)]}
            for number, one in enumerate(data.get("consumables", ()))
            for name, day in (("opened", one.opened), ("made", one.made))
            if today and day and day > today
        }
        if late:
            raise ValidationError({"consumables": late})

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> SheetWanted:
        """Return what is wanted."""
        consumables, notes = (tuple(data.pop(name, ())) for name in ("consumables", "notes"))
        return SheetWanted(consumables=consumables, notes=notes, **data)
