"""What a holding method is, and how its file states what a caller may say about a holder.

A method is one frozen dataclass in `methods/`, named as the file. Its fields carry, in their metadata, what kind of
value they take; the document schema, the catalogue and the contract's gate read that and nothing else.
"""

from collections.abc import Mapping, Sequence
from dataclasses import MISSING, field
from typing import TYPE_CHECKING, Any, ClassVar, Protocol, runtime_checkable

if TYPE_CHECKING:
    from stillstock.engine.holding.body import Body
    from stillstock.engine.holding.contacts import Contact
    from stillstock.engine.holding.demands import Demand
    from stillstock.engine.set_up import SetUp
    from stillstock.tables.load import Tables

__all__ = [
    "HoldingMethod",
    "choice",
    "curve",
    "flag",
    "integer",
    "number",
    "outline",
    "point",
    "pull_test",
    "quantity",
    "scatter",
    "text",
]


@runtime_checkable
class HoldingMethod(Protocol):
    """One way of holding stock; its dataclass fields are what a caller states about it.

    Attributes
    ----------
    kind : str
        The file's name, and the word in the document.
    title : str
        The method as the trade calls it.
    """

    kind: ClassVar[str]
    title: ClassVar[str]

    def contacts(self, index: int, set_up: "SetUp", tables: "Tables") -> "Sequence[Contact]":
        """Return the contacts that this holder, number `index` of the set-up, makes with the stock.

        Raises
        ------
        ImpossibleSetUp
            If it cannot stand as stated; the pointer is relative to the holder.
        """
        ...

    def demands(self, index: int, set_up: "SetUp", tables: "Tables") -> "Sequence[Demand]":
        """Return what the holder asks of its own parts and of the stock under it."""
        ...

    def bodies(self, index: int, set_up: "SetUp") -> "Sequence[Body]":
        """Return what of the holder stands in the tool's way; nothing for what may be cut or lies under the stock."""
        ...


def _field(metadata: Mapping[str, Any], default: Any) -> Any:
    if default is MISSING:
        return field(metadata=metadata)
    return field(default=default, metadata=metadata)


def quantity(
    dimension: str, *, doc: str, default: Any = MISSING, least: float = 0.0, most: float = 1e9, optional: bool = False
) -> Any:
    """Return a dataclass field for one number with a dimension, in SI in the engine.

    Parameters
    ----------
    dimension : str
        ``"length"``, ``"force"``, ``"torque"``, ``"pressure"``, ``"angle"`` ...
    doc : str
        What it means, one sentence.
    default : float or None
        Value where the caller says nothing; required if left out. [SI]
    least, most : float
        Bounds, both allowed. [SI]
    optional : bool
        Whether null is allowed.
    """
    meta = {"kind": "quantity", "dimension": dimension, "doc": doc, "least": least, "most": most, "optional": optional}
    return _field(meta, default)


def scatter(dimension: str, *, doc: str, least: float = 0.0, most: float = 1e9) -> Any:
    """Return an optional field for a number or a low/typical/high band from the caller's own test."""
    meta = {"kind": "scatter", "dimension": dimension, "doc": doc, "least": least, "most": most, "optional": True}
    return _field(meta, None)


def number(*, doc: str, default: Any = MISSING, least: float, most: float) -> Any:
    """Return a field for a pure number. [-]"""
    return _field({"kind": "number", "doc": doc, "least": least, "most": most}, default)


def integer(*, doc: str, default: Any = MISSING, least: int, most: int) -> Any:
    """Return a field for a whole number. [-]"""
    return _field({"kind": "integer", "doc": doc, "least": least, "most": most}, default)


def choice(options: Sequence[str], *, doc: str, default: Any = MISSING, optional: bool = False) -> Any:
    """Return a field for one of a few words."""
    return _field({"kind": "choice", "options": tuple(options), "doc": doc, "optional": optional}, default)


def flag(*, doc: str, default: bool) -> Any:
    """Return a field for yes or no."""
    return _field({"kind": "flag", "doc": doc}, default)


def text(*, doc: str, default: Any = MISSING, longest: int = 80) -> Any:
    """Return a field for a short text."""
    return _field({"kind": "text", "doc": doc, "longest": longest}, default)


def point(size: int, *, doc: str, default: Any = MISSING, optional: bool = False) -> Any:
    """Return a field for a place in the work frame, of 2 or 3 lengths. [m]"""
    return _field({"kind": "point", "size": size, "doc": doc, "optional": optional}, default)


def outline(*, doc: str, default: Any = MISSING, optional: bool = False) -> Any:
    """Return a field for a plan area: two opposite corners, or a closed outline of three points or more. [m]

    In the engine it is an (n, 2) array, counter-clockwise.
    """
    return _field({"kind": "outline", "doc": doc, "optional": optional}, default)


def curve(dimensions: tuple[str, str], *, doc: str, most: int = 20) -> Any:
    """Return an optional field for the points of a curve, as pairs of quantities; empty if left out.

    Parameters
    ----------
    dimensions : (2,) tuple of str
        Of the two numbers of each point.
    doc : str
        What it means, one sentence.
    most : int
        Points that it may have. [-]
    """
    return _field({"kind": "curve", "dimensions": dimensions, "doc": doc, "most_points": most}, ())


def pull_test(directions: Sequence[str], *, doc: str, per_area: bool = False) -> Any:
    """Return a field for the shop's own pull tests, none or one a direction.

    In the engine it is a tuple of `holding.pull_test.PullTest`. In the document it is a list of objects with the
    members ``direction`` (one of `directions`), ``readings`` (forces, two or more, none negative), ``date`` and
    ``surface`` (short texts), and ``area`` (of a test piece, required) if `per_area`, else ``count`` (fasteners pulled
    together, 1 if left out).

    Parameters
    ----------
    directions : sequence of str
        Of ``"shear"``, ``"lift"``, ``"push"``.
    doc : str
        What it replaces, one sentence.
    per_area : bool
        Whether the strength is one per area.
    """
    return _field({"kind": "pull_test", "directions": tuple(directions), "per_area": per_area, "doc": doc}, ())
