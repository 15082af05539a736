"""Says in plain words what a row of a table states."""

from collections.abc import Mapping

__all__ = ["in_words"]

PROPERTY_WORDS = {
    "ktc": "growth of the tangential force with the chip",
    "krc": "growth of the radial force with the chip",
    "kac": "growth of the axial force with the chip (30 degree helix)",
    "kte": "tangential rubbing of the edge",
    "kre": "radial rubbing of the edge",
    "kae": "axial rubbing of the edge (30 degree helix)",
    "modulus_along": "elastic modulus along the grain or main direction",
    "modulus_across": "elastic modulus across the grain or main direction",
    "tension_across": "tensile strength across the grain",
    "crush": "stress that crushes or dents",
    "shear": "shear strength",
    "planar_shear": "shear strength in the plane of the layers",
    "friction_on_mdf": "static friction on clean MDF",
    "expansion": "thermal expansion",
    "conductivity": "thermal conductivity",
    "permeability": "gas permeability",
}
CAPITALS = {word: word.upper() for word in ("mdf", "hdpe", "pom", "pvc", "pu", "hpl", "ca", "unc")}


def in_words(subject: str, *, property_key: str, titles: Mapping[str, str]) -> str:
    """Return what a row states, as an assumption in an answer reads.

    Parameters
    ----------
    subject, property_key : str
        Keys of the row.
    titles : mapping of str to str
        Titles of the subjects that have one.
    """
    what = PROPERTY_WORDS.get(property_key) or _plain_words(property_key)
    return f"{what}, {titles.get(subject) or _plain_words(subject)}"


def _plain_words(key: str) -> str:
    return " ".join(_word(part) for part in key.split("_"))


def _word(part: str) -> str:
    if part in CAPITALS:
        return CAPITALS[part]
    metric = part[:1] == "m" and part[1:].isdigit()
    return part.upper() if metric else part
