"""The contract's material of one's own against the code that reads it."""

import jsonschema_rs
from tests.contract.documents import sample, schema_of
from tests.contract.two_judges import code_takes, disagreements

from stillstock.schemas.materials import OwnMaterialSchema


def test_single_changes_are_judged_alike():
    document = sample(schema_of("OwnMaterial"))
    assert list(jsonschema_rs.Draft202012Validator(schema_of("OwnMaterial")).iter_errors(document)) == []
    assert code_takes(OwnMaterialSchema(), document)
    count, wrong = disagreements(document, "OwnMaterial", OwnMaterialSchema())
    assert count >= 1500
    assert wrong[:20] == []


def test_bands_are_judged_alike():
    document = sample(schema_of("OwnMaterial"))
    for group in ("properties", "cutting"):
        stated = document[group]
        document[group] = {term: dict.fromkeys(("low", "typical", "high"), stated[term]) for term in stated}
    count, wrong = disagreements(document, "OwnMaterial", OwnMaterialSchema())
    assert count >= 3000
    assert wrong[:20] == []
