"""The answer about repeat parts out, in the caller's units."""

from collections.abc import Mapping
from typing import Any

from stillstock.answers.positions import Offset, Place, PositionsAnswer, ReSeat
from stillstock.engine.positions.fit import Fit
from stillstock.engine.positions.location import Stack, Term
from stillstock.engine.positions.request import Dowels
from stillstock.engine.positions.two_sided import Way
from stillstock.schemas.results import assumption, numbers
from stillstock.tables.load import Tables
from stillstock.units import System, present, unit_name

__all__ = ["positions_document"]

_FIT_SOURCE = "iso_286_1"


def positions_document(answer: PositionsAnswer, *, tables: Tables) -> dict[str, Any]:
    """Return the answer as a document for JSON."""
    system = answer.asked.system
    return {
        "summary": answer.summary,
        "title": answer.asked.title,
        "fits": {
            "count": answer.room.count,
            "along_x": answer.room.x.count,
            "along_y": answer.room.y.count,
            "step": numbers((answer.room.x.step, answer.room.y.step), "length", system),
            "turned": answer.turned,
        },
        "fills": answer.fills,
        "loadings": answer.loadings,
        "places": [_place(place, system) for place in answer.places],
        "re_seat": _re_seat(answer.re_seat, answer.asked.tolerance, answer.meets, system),
        "fit": _fits(answer, tables),
        "ways": [_way(way, system) for way in answer.ways],
        "assumptions": [assumption(triple, system) for triple in answer.assumptions],
        "cautions": list(answer.cautions),
        "units": {dimension: unit_name(dimension, system) for dimension in ("length", "angle")},
        "fingerprint": answer.asked.fingerprint,
    }


def _place(place: Place, system: System) -> dict[str, Any]:
    return {
        "column": place.column,
        "row": place.row,
        "loading": place.loading,
        "corner": numbers(place.corner, "length", system),
        "locators": [numbers(at, "length", system) for at in place.locators],
        "front": _offset(place.front, system),
        "back": None if place.back is None else _offset(place.back, system),
    }


def _offset(offset: Offset, system: System) -> dict[str, Any]:
    return {
        "word": offset.word,
        "number": offset.number,
        "machine": numbers(offset.machine, "length", system),
    }


def _re_seat(found: ReSeat, tolerance: float | None, meets: str, system: System) -> dict[str, Any]:
    return {
        **_stack(found.plan, system),
        "at": numbers(found.at, "length", system),
        "terms": [_term(term, found.plan.at, system) for term in found.terms],
        "height": {
            **_stack(found.height, system),
            "terms": [_term(term, 0, system) for term in found.height_terms],
        },
        "sides": None
        if found.sides is None
        else dict(zip(("rss", "worst"), numbers(found.sides, "length", system), strict=True)),
        "tolerance": None if tolerance is None else present(tolerance, "length", system),
        "meets": meets or None,
    }


def _stack(stack: Stack, system: System) -> dict[str, float]:
    return {"rss": present(stack.rss, "length", system), "worst": present(stack.worst, "length", system)}


def _term(term: Term, at: int, system: System) -> dict[str, Any]:
    return {
        "what": term.what,
        "amount": present(term.amount, "length", system),
        "moves": numbers(term.moves[at], "length", system),
    }


def _fits(answer: PositionsAnswer, tables: Tables) -> list[dict[str, Any]]:
    dowels, system = answer.asked.locating, answer.asked.system
    if not isinstance(dowels, Dowels) or dowels.fit is None:
        return []
    source = tables.sources[_FIT_SOURCE]
    ground: Mapping[str, str] = {"source": source.key, "grade": str(source.grade)}
    return [
        {"name": str(dowels.fit), "diameter": present(diameter, "length", system), **_limits(fit, system), **ground}
        for diameter, fit in zip(dowels.diameters, answer.fits, strict=True)
    ]


def _limits(fit: Fit, system: System) -> dict[str, list[float]]:
    return {
        "hole": numbers(fit.hole, "length", system),
        "dowel": numbers(fit.shaft, "length", system),
        "play": numbers(fit.play, "length", system),
    }


def _way(way: Way, system: System) -> dict[str, Any]:
    return {"over": way.over, "turn": present(way.turn, "angle", system), "on_dowels": [pin + 1 for pin in way.pins]}
