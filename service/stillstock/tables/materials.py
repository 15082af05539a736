"""Puts materials together from their rows, and finds them by the words that people use."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from types import MappingProxyType

from stillstock.tables.material import FAMILIES, Material
from stillstock.tables.scatter import Triple

__all__ = ["MaterialName", "assemble", "names_by_word", "near", "plain"]

CHIP_TERMS = ("ktc", "krc", "kac")
EDGE_TERMS = ("kte", "kre", "kae")
PLYWOOD_FACTOR = 1.2
"""Softwood plywood against the softwood row, all terms; common practice, no source. [-]"""

Values = Mapping[tuple[str, str, str], Triple]


@dataclass(frozen=True, kw_only=True)
class MaterialName:
    """A line of `material_names.csv`.

    Attributes
    ----------
    key, title, family : str
    cutting_row : str
        Subject in `cutting_coefficients.csv`; empty if unknown.
    adjusted_by : str
        How that row is carried over: empty as it stands, ``"density"`` or ``"plywood"``.
    aliases : tuple of str
    """

    key: str
    title: str
    family: str
    cutting_row: str
    adjusted_by: str
    aliases: tuple[str, ...]


def plain(name: str) -> str:
    """Return a name in small letters, with single blanks for everything but letters, digits and brackets."""
    return " ".join(re.sub(r"[^a-z0-9()]+", " ", name.lower()).split())


def names_by_word(names: Iterable[MaterialName]) -> dict[str, str]:
    """Return every plain word for a material with the key that it means.

    Raises
    ------
    ValueError
        If one word means two materials.
    """
    words: dict[str, str] = {}
    for name in names:
        for word in (name.key, name.title, *name.aliases):
            meant = words.setdefault(plain(word), name.key)
            if meant != name.key:
                raise ValueError(f"material_names.csv: {word!r} means both {meant} and {name.key}")
    return words


def near(name: str, *, words: Mapping[str, str]) -> tuple[str, ...]:
    """Return up to three keys of materials with a similar word, the closest first."""
    wanted = plain(name)
    similar = get_close_matches(wanted, words, n=8, cutoff=0.6)
    inside = [word for word in words if len(wanted) > 2 and wanted in word]
    return tuple(dict.fromkeys(words[word] for word in (*similar, *inside)))[:3]


def assemble(names: Sequence[MaterialName], *, values: Values) -> dict[str, Material]:
    """Return each material with its properties and cutting coefficients.

    Parameters
    ----------
    names : sequence of MaterialName
    values : mapping of (table, subject, property) to Triple
        All rows. [SI]

    Raises
    ------
    ValueError
        If a family, a cutting row or a way of carrying it over is unknown, or a material has no density.
    """
    materials: dict[str, Material] = {}
    for name in names:
        if name.key in materials:
            raise ValueError(f"material_names.csv: {name.key} stands there twice")
        if name.family not in FAMILIES:
            raise ValueError(f"material_names.csv: unknown family {name.family!r} of {name.key}")
        properties = _properties(name, values=values)
        if "density" not in properties:
            raise ValueError(f"materials.csv: no density of {name.key}")
        materials[name.key] = Material(
            key=name.key,
            title=name.title,
            family=name.family,
            properties=MappingProxyType(properties),
            cutting=MappingProxyType(_cutting(name, density=properties["density"], values=values)),
        )
    return materials


def _properties(name: MaterialName, *, values: Values) -> dict[str, Triple]:
    """Return the rows of the material; solid woods take what holds of every wood from the subject `wood`."""
    found: dict[str, Triple] = {}
    subjects = ("wood", name.key) if name.family in ("softwood", "hardwood") else (name.key,)
    for subject in subjects:
        found.update({key[2]: value for key, value in values.items() if key[:2] == ("materials", subject)})
    return found


def _cutting(name: MaterialName, *, density: Triple, values: Values) -> dict[str, Triple]:
    if not name.cutting_row:
        return {}
    row = {
        term: values[key]
        for term in CHIP_TERMS + EDGE_TERMS
        if (key := ("cutting_coefficients", name.cutting_row, term)) in values
    }
    if len(row) < len(CHIP_TERMS + EDGE_TERMS):
        raise ValueError(f"cutting_coefficients.csv: {name.cutting_row} of {name.key} is not complete")
    if name.adjusted_by == "density":
        reference = values["cutting_coefficients", name.cutting_row, "reference_density"].typical
        return _scaled_by_density(row, name=name, ratio=density.typical / reference)
    if name.adjusted_by == "plywood":
        note = f"{name.cutting_row} row times {PLYWOOD_FACTOR} for {name.title}, common practice"
        return {term: _noted(band.times(PLYWOOD_FACTOR), note=note) for term, band in row.items()}
    if name.adjusted_by:
        raise ValueError(f"material_names.csv: {name.key} cannot be adjusted by {name.adjusted_by!r}")
    return row


def _scaled_by_density(row: Mapping[str, Triple], *, name: MaterialName, ratio: float) -> dict[str, Triple]:
    """Return the row with its chip terms in proportion to density; rubbing of the edge is left as it is."""
    scaled = f"{name.cutting_row} row times {ratio:.2f} for the density of {name.title}"
    kept = f"{name.cutting_row} row taken for {name.title}"
    return {
        term: _noted(band.times(ratio), note=scaled) if term in CHIP_TERMS else _noted(band, note=kept)
        for term, band in row.items()
    }


def _noted(band: Triple, *, note: str) -> Triple:
    return replace(band, note="; ".join(filter(None, (note, band.note))))
