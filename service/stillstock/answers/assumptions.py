"""The numbers that a margin rests on besides those that describe the job itself."""

from stillstock.answers.hold import Stance
from stillstock.answers.job import Job
from stillstock.engine.cutting.milling import ENTRY
from stillstock.engine.holding.contacts import Contacts
from stillstock.tables.material import Material
from stillstock.tables.scatter import Grade, Triple

__all__ = ["assumptions"]


def assumptions(stance: Stance, job: Job, shaken: Triple) -> tuple[Triple, ...]:
    """Return every number that a margin rests on, each once.

    Parameters
    ----------
    stance : Stance
        How the stock is held.
    job : Job
        What pulls at it.
    shaken : Triple
        What vibration leaves of friction. [-]
    """
    own = [*_stated(job.set_up.stock.material), *_stated(job.set_up.bed.material)]
    cutting = [band for box in job.boxes.values() for band in box.terms.values()]
    every = [stance.friction, shaken, *_bands(stance.contacts), *own, *cutting, *([ENTRY] if cutting else [])]
    return tuple({(band.what, band.low, band.typical, band.high): band for band in every}.values())


def _stated(material: Material) -> list[Triple]:
    """Return the properties of a material that the caller stated: any check may rest on them."""
    return [band for band in material.properties.values() if band.grade is Grade.CALLER]


def _bands(contacts: Contacts) -> list[Triple]:
    """Return every band that the contacts rest on."""
    found: list[Triple] = [push.force for push in contacts.pushes]
    found += [push.friction for push in contacts.pushes if push.friction is not None]
    found += [rest.pressure for rest in contacts.rests]
    found += [rub.friction for rub in contacts.rubs]
    found += [rub.stated or rub.preload for rub in contacts.rubs if rub.preload is not None]
    found += [band for bond in contacts.bonds for band in (bond.shear, bond.tension)]
    found += [band for pin in contacts.pins for band in (pin.lateral, pin.pull_out, pin.preload) if band is not None]
    return found
