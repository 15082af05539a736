"""What a document says of a material: the name of one that the tables know, or one of the caller's own."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from marshmallow import post_load

from stillstock.schemas.flaws import flawed
from stillstock.schemas.quantity import Scatter, Text
from stillstock.schemas.spelling import plainly_meant
from stillstock.schemas.strict import Object, StrictField, StrictSchema, now_reading
from stillstock.tables.material import Material
from stillstock.tables.scatter import Triple
from stillstock.tables.words import in_words

__all__ = ["MaterialField", "MaterialName", "OwnMaterialSchema"]

NAME_CHARACTERS = 60


class MaterialName(StrictField[Material]):
    """A material of the tables by key, title or alias."""

    text = Text(longest=NAME_CHARACTERS, shortest=1)

    def read(self, value: Any) -> Material:
        """Return the value as the set-up has it."""
        tables = now_reading().tables
        name = self.text.read(value)
        found = tables.material(name)
        if found is None:
            corrected = plainly_meant(name, tables.words)
            near = [corrected] if corrected else tables.near_materials(name)
            hint = f"did you mean {' or '.join(near[:3])}?" if near else "GET /v1/materials lists them"
            raise flawed("unknown_material", f"no such material; {hint}", late=True, seen=value, corrected=corrected)
        return found


def modulus() -> Scatter:
    """Return the field of an elastic modulus."""
    return Scatter("pressure", least=1e6, most=1e12, what="elastic modulus")


def strength() -> Scatter:
    """Return the field of a stress that something gives way at."""
    return Scatter("pressure", least=1e4, most=1e10, what="strength")


class OwnPropertiesSchema(StrictSchema):
    """Properties of a caller's own material: those of the tables that an answer rests on."""

    density = Scatter("density", least=1.0, most=25e3, what="density")
    modulus_along = modulus()
    modulus_across = modulus()
    bending_strength = strength()
    tension_across = strength()
    crush = strength()
    shear = strength()
    planar_shear = strength()
    rolling_shear_ratio = Scatter("fraction", least=0.01, most=1.0, what="rolling shear ratio")
    embedment = strength()
    bearing_strength = strength()
    specific_gravity = Scatter("fraction", least=0.01, most=2.0, what="specific gravity")
    permeability = Scatter("area", least=1e-16, most=1e-8, what="permeability")


class OwnCuttingSchema(StrictSchema):
    """Cutting coefficients of a caller's own material, of a sharp edge with 30 degrees of helix."""

    ktc = Scatter("pressure", least=1e4, most=1e11, what="tangential growth")
    krc = Scatter("pressure", least=-1e11, most=1e11, what="radial growth")
    kac = Scatter("pressure", least=0.0, most=1e11, what="axial growth")
    kte = Scatter("force_per_length", least=0.0, most=1e6, what="tangential rubbing")
    kre = Scatter("force_per_length", least=0.0, most=1e6, what="radial rubbing")
    kae = Scatter("force_per_length", least=0.0, most=1e6, what="axial rubbing")


class OwnMaterialSchema(StrictSchema):
    """A material of the caller's own: one of the tables, save for what is stated of it."""

    name = Text(longest=NAME_CHARACTERS, shortest=1, required=True)
    like = MaterialName(required=True)
    properties = Object(OwnPropertiesSchema())
    cutting = Object(OwnCuttingSchema())

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> Material:
        """Return the material; its key stays that of its like, by which faces and special cases are chosen."""
        like: Material = data["like"]
        name: str = data["name"]
        return replace(
            like,
            title=name,
            properties={**like.properties, **_named(data.get("properties", {}), like.key, name)},
            cutting={**like.cutting, **_named(data.get("cutting", {}), like.key, name)},
        )


def _named(stated: Mapping[str, Triple], key: str, name: str) -> dict[str, Triple]:
    """Return stated bands that say in an answer what they are of."""
    return {
        term: replace(
            band,
            what=in_words(key, property_key=term, titles={key: name}),
            dimension="permeability" if term == "permeability" else band.dimension,
        )
        for term, band in stated.items()
    }


_OWN = OwnMaterialSchema()


class MaterialField(StrictField[Material]):
    """A material by name, or the caller's own as an object."""

    by_name = MaterialName()

    def read(self, value: Any) -> Material:
        """Return the value as the set-up has it."""
        if isinstance(value, str):
            return self.by_name.read(value)
        if not isinstance(value, dict):
            detail = "expected the name of a material, or an object with name, like and what is stated of it"
            raise flawed("type", detail, seen=value)
        own: Material = _OWN.load(value)
        return own
