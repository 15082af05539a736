"""A spoilboard's answer out, in the caller's units."""

from typing import Any

import numpy as np

from stillstock.answers.grid import GridAnswer, Groove, Job
from stillstock.engine.drawing import Circle, Label, Polyline
from stillstock.engine.grid.insert_hole import HoleCut
from stillstock.engine.set_up import FloatArray
from stillstock.tables.scatter import Triple
from stillstock.units import System, parse, present, unit_name

__all__ = ["grid_document"]

#: 0.001 mm and 0.000001 in, as in the files. [-]
_DECIMALS = {"metric": 3, "inch": 6}
_SIZE = {"metric": 1e-3, "inch": 0.0254}  # of the unit [m]


def grid_document(answer: GridAnswer) -> dict[str, Any]:
    """Return the answer as a document for JSON."""
    system = answer.asked.system
    return {
        "summary": answer.summary,
        "title": answer.asked.title,
        "marks": answer.marks,
        "groove": _groove(answer.groove, system) if answer.groove else None,
        "hole": _hole(answer.hole, system) if answer.hole else None,
        "skims_left": {
            "grid": answer.groove.skims if answer.groove else None,
            "fittings": answer.hole_skims,
            "board": answer.board_skims,
        },
        "layers": _layers(answer),
        "geometry": [_shape(shape, system) for shape in answer.drawing.shapes],
        "broken": [
            {"along": "xy"[line.axis], "at": _length(line.place, system), "by": list(line.by)} for line in answer.broken
        ],
        "left_out": [
            {"mark": item.mark, "at": _place(item.at, system), "by": list(item.by)} for item in answer.left_out
        ],
        "dropped": answer.dropped,
        "programs": [_job(job, answer, system) for job in answer.jobs],
        "hole_travel": {
            "way": _length(answer.hole_travel, system),
            "at_least": _length(answer.hole_travel_floor, system),
        },
        "assumptions": [_assumption(triple, system) for triple in answer.assumptions],
        "cautions": list(answer.cautions),
        "units": {
            **{dimension: unit_name(dimension, system) for dimension in ("length", "speed", "angular_speed")},
            "time": "min",
        },
        "fingerprint": answer.asked.fingerprint,
    }


def _length(value: float, system: System) -> float:
    return round(value / _SIZE[system], _DECIMALS[system]) + 0.0


def _place(at: tuple[float, float], system: System) -> list[float]:
    return [_length(at[0], system), _length(at[1], system)]


def _points(points: FloatArray, system: System) -> list[list[float]]:
    rows: list[list[float]] = (np.round(points / _SIZE[system], _DECIMALS[system]) + 0.0).tolist()
    return rows


def _shape(shape: Polyline | Circle | Label, system: System) -> dict[str, Any]:
    if isinstance(shape, Polyline):
        return {"layer": shape.layer, "points": _points(shape.points, system), "closed": shape.closed}
    if isinstance(shape, Circle):
        return {
            "layer": shape.layer,
            "center": _place(shape.center, system),
            "diameter": _length(2.0 * shape.radius, system),
        }
    raise ValueError("a spoilboard's text is drawn in strokes")


def _layers(answer: GridAnswer) -> list[dict[str, Any]]:
    counts = dict.fromkeys(answer.drawing.layers, 0)
    for shape in answer.drawing.shapes:
        counts[shape.layer] += 1
    system = answer.asked.system
    return [
        {
            "name": name,
            "cut": name in answer.cut_layers,
            "depth": _length(answer.cut_layers[name], system) if name in answer.cut_layers else None,
            "shapes": count,
        }
        for name, count in counts.items()
    ]


def _groove(groove: Groove, system: System) -> dict[str, Any]:
    return {
        "depth": _length(groove.depth, system),
        "width": _length(groove.width, system),
        "major_depth": _length(groove.major_depth, system),
        "major_width": _length(groove.major_width, system),
        "edge_speed": present(groove.edge_speed, "speed", system),
        "tip_speed": present(groove.tip_speed, "speed", system),
        "feed_per_tooth": present(groove.chip, "length", system),
    }


def _hole(hole: HoleCut, system: System) -> dict[str, Any]:
    return {
        "diameter": _length(hole.diameter, system),
        "depth": _length(hole.depth, system),
        "through": hole.through,
        "counterbore": _bore(hole.counterbore, system),
        "underside": _bore(hole.underside, system),
    }


def _bore(bore: tuple[float, float] | None, system: System) -> dict[str, float] | None:
    return {"diameter": _length(bore[0], system), "depth": _length(bore[1], system)} if bore else None


def _job(job: Job, answer: GridAnswer, system: System) -> dict[str, Any]:
    return {
        "program": str(job.program),
        "chosen": job is answer.chosen,
        "tool": job.path.tool,
        "speed": present(job.path.speed, "angular_speed", system),
        "feed": present(job.path.feed, "speed", system),
        "plunge": present(job.path.plunge, "speed", system),
        "time": round(job.time / 60.0, 2),
        "lengths": {kind: _length(value, system) for kind, value in job.lengths.items()},
    }


def _assumption(triple: Triple, system: System) -> dict[str, Any]:
    if triple.dimension == "acceleration":
        size, unit = parse(1.0, "length", system), f"{unit_name('length', system)}/s2"
        low, typical, high = (float(f"{value / size:.6g}") for value in (triple.low, triple.typical, triple.high))
    else:
        unit = unit_name(triple.dimension, system)
        low, typical, high = (
            present(value, triple.dimension, system) for value in (triple.low, triple.typical, triple.high)
        )
    return {
        "what": triple.what,
        "low": low,
        "typical": typical,
        "high": high,
        "unit": unit,
        "source": triple.source,
        "grade": str(triple.grade),
        "note": triple.note,
    }
