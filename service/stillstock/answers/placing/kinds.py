"""Which way of placing belongs to which kind of holder: one of its own, else what its fields say."""

from collections.abc import Callable, Mapping

from stillstock.answers.placing.areas import tape, vacuum
from stillstock.answers.placing.bridges import skins, tabs
from stillstock.answers.placing.by_fields import by_fields
from stillstock.answers.placing.fasteners import bolts_in_holes, dowel_pins, nails, screws
from stillstock.answers.placing.ground import Ground, Layout
from stillstock.answers.placing.growth import Tries
from stillstock.answers.placing.sides import side_clamps, stops, vise
from stillstock.answers.placing.straps import strap_clamps
from stillstock.answers.shop import Entry

__all__ = ["PLACING", "placing_of"]

#: From the ground, what the shop has of a kind, and what stands already, to layouts that are worth a try.
Placing = Callable[[Ground, Entry, Layout], Tries]

#: Kinds with a way of their own.
PLACING: Mapping[str, Placing] = {
    "dowel_pin": dowel_pins,
    "film_tape": tape,
    "fixture_plate": bolts_in_holes,
    "foam_tape": tape,
    "polymer_nail": nails,
    "screw": screws,
    "side_clamp": side_clamps,
    "skin": skins,
    "stop": stops,
    "strap_clamp": strap_clamps,
    "tab": tabs,
    "tape_and_ca": tape,
    "vacuum": vacuum,
    "vise": vise,
}


def placing_of(kind: str) -> Placing:
    """Return how a kind is placed."""
    return PLACING.get(kind, by_fields)
