"""Which ways of holding a shop has: each kind by itself, and the pairs that make sense."""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from itertools import product

from stillstock.answers.shop import Entry, Shop
from stillstock.engine.holding.register import methods
from stillstock.tables.suitability import pairs

__all__ = ["Method", "has_member", "methods_of"]


@dataclass(frozen=True, kw_only=True)
class Method:
    """One way of holding.

    Attributes
    ----------
    entry : Entry
        What holds.
    companions : tuple of Entry
        What helps it, placed first; none or more.
    why : str
        Why the two go together; empty for one alone.
    """

    entry: Entry
    companions: tuple[Entry, ...] = ()
    why: str = ""

    @property
    def entries(self) -> tuple[Entry, ...]:
        """What the shop has to have."""
        return (self.entry, *self.companions)

    @property
    def key(self) -> str:
        """The entries of the shop's list, by which two methods are told apart."""
        return "+".join(str(entry.number) for entry in self.entries)

    @property
    def title(self) -> str:
        """As the trade calls it."""
        holds, *helps = (methods()[entry.kind].title for entry in self.entries)
        return f"{holds} with {' and '.join(helps)}" if helps else holds

    @property
    def name(self) -> str:
        """The kinds, joined; the same for every shop."""
        return "+".join(entry.kind for entry in self.entries)


def has_member(kind: str, *names: str) -> bool:
    """Return whether holders of a kind state one of some members; with `pushes` they hold only against stops."""
    return any(item.name in names for item in fields(methods()[kind]))  # type: ignore[arg-type]


def methods_of(shop: Shop) -> tuple[Method, ...]:
    """Return every way of holding that a shop has, in the order of its list, pairs after the kind that holds."""
    found: list[Method] = []
    for entry in shop.entries:
        if has_member(entry.kind, "pushes"):
            words = f"{methods()[entry.kind].title}s push against stops"
            against = [Method(entry=entry, companions=(stop,), why=words) for stop in _of_kind(shop, "stop")]
            found += against or [Method(entry=entry)]
            continue
        found.append(Method(entry=entry))
        for pair in (pair for pair in pairs() if pair.method == entry.kind):
            for companions in product(*(_of_kind(shop, kind) for kind in pair.companions)):
                found.append(Method(entry=entry, companions=companions, why=pair.words))
    return tuple(found)


def _of_kind(shop: Shop, kind: str) -> Sequence[Entry]:
    return [entry for entry in shop.entries if entry.kind == kind]
