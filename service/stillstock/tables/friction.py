"""Chooses the row of friction for two faces, and says which it chose."""

from collections.abc import Mapping
from dataclasses import replace
from itertools import product
from types import MappingProxyType

from stillstock.tables.load import Tables
from stillstock.tables.material import Material
from stillstock.tables.scatter import Triple

__all__ = ["CONDITIONS", "FACES", "friction"]

CONDITIONS = ("clean", "dusty", "sealed")
FACES = (
    "wood",
    "plywood",
    "board",
    "plastic",
    "acrylic",
    "aluminium",
    "brass",
    "steel",
    "laminate",
    "foam",
    "diamond_jaw",
    "coarse_jaw",
    "rubber_mat",
    "gasket_rubber",
    "abrasive_paper",
)
"""Faces that a caller may name instead of a material; `board` is raw MDF or particleboard."""

FACE_OF_FAMILY = {
    "softwood": "wood",
    "hardwood": "wood",
    "panel": "plywood",
    "plastic": "plastic",
    "laminate": "laminate",
    "foam": "foam",
    "metal": "aluminium",
}
FACE_OF_MATERIAL = {
    "mdf": "board",
    "particleboard": "board",
    "acrylic": "acrylic",
    "free_cutting_brass": "brass",
    "mild_steel": "steel",
}
ON_BOARD = {
    "wood": "wood_on_clean_mdf",
    "plywood": "panel_on_clean_mdf",
    "board": "panel_on_clean_mdf",
    "plastic": "hdpe_on_clean_mdf",
    "acrylic": "acrylic_on_clean_mdf",
    "aluminium": "metal_on_clean_mdf",
    "brass": "metal_on_clean_mdf",
    "steel": "metal_on_clean_mdf",
    "diamond_jaw": "metal_on_clean_mdf",
    "coarse_jaw": "metal_on_clean_mdf",
}
BOARD_ROWS = {
    ("wood", "dusty"): "wood_on_dusty_mdf",
    ("plywood", "dusty"): "panel_on_dusty_mdf",
    ("board", "dusty"): "panel_on_dusty_mdf",
    ("wood", "sealed"): "wood_on_sealed_mdf",
}
CONDITION_FACTORS = {"dusty": "dust_factor", "sealed": "sealed_factor"}


def _pairs() -> Mapping[frozenset[str], str]:
    """Return the row of each pair of faces, in either order."""
    grain, polymer, steels = ("wood", "plywood"), ("plastic", "acrylic"), ("steel", "diamond_jaw", "coarse_jaw")
    soft_metals = ("aluminium", "brass")
    rows = (
        (grain, grain, "planed_wood_on_planed_wood"),
        (grain, steels, "dry_wood_on_steel"),
        (grain, soft_metals, "planed_wood_on_aluminium"),
        (polymer, grain, "plastic_on_plywood"),
        (polymer, (*steels, *soft_metals), "plastic_on_metal"),
        (("acrylic",), steels, "acrylic_on_steel"),
        (soft_metals, soft_metals, "metal_on_metal_in_the_shop"),
        (("aluminium",), ("steel",), "aluminium_on_steel_in_the_shop"),
        (("brass",), steels, "brass_on_steel_in_the_shop"),
        (("aluminium",), ("diamond_jaw",), "aluminium_on_diamond_jaw"),
        (("aluminium",), ("coarse_jaw",), "aluminium_on_coarse_jaw"),
        (("steel",), ("steel",), "steel_on_smooth_jaw"),
        (("steel",), ("diamond_jaw",), "steel_on_diamond_jaw"),
        (("steel",), ("coarse_jaw",), "steel_on_coarse_jaw"),
        (("abrasive_paper",), (*grain, "board"), "abrasive_paper_on_wood"),
        (("abrasive_paper",), (*polymer, *soft_metals, *steels, "laminate"), "abrasive_paper_on_smooth"),
        (("gasket_rubber",), (*grain, *polymer, *soft_metals, *steels, "board", "laminate"), "gasket_rubber_on_any"),
        (("rubber_mat",), (*grain, *polymer, *soft_metals, *steels, "board", "laminate"), "rubber_mat_on_any"),
    )
    return MappingProxyType({frozenset(pair): row for left, right, row in rows for pair in product(left, right)})


PAIRS = _pairs()


def friction(tables: Tables, *, stock: Material | str, bed: Material | str, condition: str = "clean") -> Triple:
    """Return the static coefficient of friction between two faces.

    Laboratory values of degreased metals are never chosen: they are several times too high for holding.

    Parameters
    ----------
    tables : Tables
    stock, bed : Material or str
        The two faces, in either order: a material, a family of materials, or one of `FACES`.
    condition : str
        ``"clean"``, ``"dusty"`` or ``"sealed"``; sealing matters on raw board alone.

    Returns
    -------
    Triple
        Static coefficient; vibration takes it down by ``any_pair, dynamic_factor``. Its `what` and `note` say which
        row was taken. A pair that the tables do not have gets ``unknown_pair``. [-]

    Raises
    ------
    ValueError
        If a face or the condition is none of those above.
    """
    if condition not in CONDITIONS:
        raise ValueError(f"condition {condition!r} is none of {', '.join(CONDITIONS)}")
    faces = (_face(stock), _face(bed))
    row = PAIRS.get(frozenset(faces))
    if row is not None:
        return _in_condition(tables, _row(tables, row), condition="clean" if condition == "sealed" else condition)
    if "board" in faces:
        other = stock if faces[1] == "board" else bed
        return _on_board(tables, other, condition=condition)
    unknown = _row(tables, "unknown_pair")
    return replace(unknown, what=f"static friction, {_name(stock)} on {_name(bed)} (pair not in the tables)")


def _on_board(tables: Tables, other: Material | str, *, condition: str) -> Triple:
    """Return the coefficient of a face on raw MDF or particleboard."""
    face = _face(other)
    if (row := BOARD_ROWS.get((face, condition))) is not None:
        return _row(tables, row)
    own = other.properties.get("friction_on_mdf") if isinstance(other, Material) else None
    if own is None and face not in ON_BOARD:
        unknown = _row(tables, "unknown_pair")
        return replace(unknown, what=f"static friction, {_name(other)} on MDF (pair not in the tables)")
    return _in_condition(tables, own or _row(tables, ON_BOARD[face]), condition=condition)


def _in_condition(tables: Tables, clean: Triple, *, condition: str) -> Triple:
    if condition == "clean":
        return clean
    factor = tables.value("friction", "any_pair", CONDITION_FACTORS[condition])
    return replace(
        clean,
        low=clean.low * factor.low,
        typical=clean.typical * factor.typical,
        high=clean.high * factor.high,
        what=f"{clean.what.replace(' on clean MDF', ' on MDF')}, {condition}",
        grade=factor.grade,
        note="; ".join(filter(None, (f"clean pair times {factor.typical:g}: {factor.note}", clean.note))),
    )


def _row(tables: Tables, subject: str) -> Triple:
    return tables.value("friction", subject, "static_friction")


def _face(side: Material | str) -> str:
    if isinstance(side, Material):
        return FACE_OF_MATERIAL.get(side.key, FACE_OF_FAMILY[side.family])
    face = FACE_OF_FAMILY.get(side, side)
    if face not in FACES:
        raise ValueError(f"{side!r} is no face that the tables know; it must be one of {', '.join(FACES)}")
    return face


def _name(side: Material | str) -> str:
    return side.title if isinstance(side, Material) else side.replace("_", " ")
