"""The base of every document schema: refuses what it does not know, and reads in the document's units."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from typing import Any, TypeVar

from marshmallow import EXCLUDE, Schema, ValidationError, validates_schema
from marshmallow.fields import Field, Nested

from stillstock.schemas.flaws import Flaw
from stillstock.schemas.spelling import plainly_meant
from stillstock.settings import Limits
from stillstock.tables.load import Tables
from stillstock.units import SYSTEMS, System

__all__ = ["FIELD_MESSAGES", "Object", "Reading", "StrictField", "StrictSchema", "now_reading", "reading", "system_of"]

T = TypeVar("T")

#: Faults after which a list is judged no further; and unknown members for which the nearest known one is sought.
MOST_FAULTS, MOST_HINTS = 1000, 50

#: What marshmallow's own checks say, in our form.
FIELD_MESSAGES: dict[str, Any] = {
    "required": [Flaw(code="missing", detail="this member is required")],
    "null": [Flaw(code="null", detail="null is not taken here: leave the member out or give it a value")],
    "validator_failed": [Flaw(code="value", detail="this value is not taken here")],
}


class StrictField(Field[T]):
    """A field whose findings carry code and detail; a kind of field says in `read` how it takes one value."""

    default_error_messages = FIELD_MESSAGES

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> T:  # noqa: ARG002
        return self.read(value)

    def read(self, value: Any) -> T:
        """Return the value as the set-up has it, or raise ValidationError."""
        raise AssertionError(f"{type(self).__name__} does not say how it is read: {value!r}")


class Object(Nested):
    """A member that is an object of its own schema."""

    default_error_messages = FIELD_MESSAGES


@dataclass
class Patience:
    """How many more faults are looked for in a list: a document that is wrong throughout is not judged throughout."""

    left: int = MOST_FAULTS

    def ends(self) -> bool:
        """Count a fault, and tell whether it was the last to look for."""
        self.left -= 1
        return self.left <= 0


@dataclass(frozen=True, kw_only=True)
class Reading:
    """How the document at hand is read: its units, how long its lists may be, which materials there are."""

    system: System
    limits: Limits
    tables: Tables
    patience: Patience = field(default_factory=Patience)


_READING: ContextVar[Reading] = ContextVar("reading")


def now_reading() -> Reading:
    """Return how the document at hand is read."""
    return _READING.get()


@contextmanager
def reading(system: System, *, limits: Limits, tables: Tables) -> Iterator[None]:
    """Read documents within the block in these units."""
    token = _READING.set(Reading(system=system, limits=limits, tables=tables))
    try:
        yield
    finally:
        _READING.reset(token)


def system_of(document: object) -> System:
    """Return the document's system of units; metric if it states none that is known, which its schema then refuses."""
    stated = document.get("units") if isinstance(document, Mapping) else None
    return next((system for system in SYSTEMS if system == stated), "metric")


class StrictSchema(Schema):
    """A schema whose objects have the stated members and no others."""

    class Meta:
        """Unknown members are refused by `refuse_unknown`, which knows what was probably meant."""

        unknown = EXCLUDE

    error_messages = {"type": [Flaw(code="type", detail="expected an object, {...}")]}  # type: ignore[dict-item] # noqa: RUF012

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def refuse_unknown(self, _data: Any, original: Any, **_: Any) -> None:
        """Refuse each member that the schema does not state, naming the nearest that it does."""
        known = [item.data_key or name for name, item in self.fields.items()]
        unknown = [name for name in original if name not in known] if isinstance(original, Mapping) else []
        if unknown:
            hinted = {name: [_unknown(name, self)] for name in unknown[:MOST_HINTS]}
            rest = {name: [NO_SUCH_MEMBER] for name in unknown[MOST_HINTS:MOST_FAULTS]}
            raise ValidationError(hinted | rest)


NO_SUCH_MEMBER = Flaw(code="unknown_field", detail="no such member")


def _unknown(name: str, schema: Schema) -> Flaw:
    below = list(_below(name, schema))
    if below:
        hint = f"it belongs in {' or '.join(below)}"
        near = below[0] if len(below) == 1 else None
    else:
        known = [item.data_key or member for member, item in schema.fields.items()]
        near = plainly_meant(str(name), known)
        hint = f"did you mean {near!r}?" if near else f"known here: {', '.join(sorted(known))}"
    return Flaw(code="unknown_field", detail=f"no such member; {hint}", corrected=near)


def _below(name: str, schema: Schema) -> Iterator[str]:
    """Yield the places within the members of an object where one that it does not have is known."""
    for member, item in schema.fields.items():
        if not isinstance(item, Object):
            continue
        place = item.data_key or member
        if name in {inner.data_key or key for key, inner in item.schema.fields.items()}:
            yield f"{place}.{name}"
        else:
            yield from (f"{place}.{deeper}" for deeper in _below(name, item.schema))
