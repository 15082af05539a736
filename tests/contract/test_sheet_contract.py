"""The sheet's part of the contract: its examples run in every format, and their answers are as stated."""

import pytest
from tests.contract.documents import contract, resolved
from tests.contract.two_judges import example_faults

BODY = contract()["paths"]["/v1/sheet"]["post"]["requestBody"]["content"]["application/json"]


@pytest.mark.parametrize("name", sorted(BODY["examples"]))
def test_an_example_runs_in_every_format_and_its_answer_keeps_the_contract(name):
    forms = resolved(contract()["components"]["parameters"]["SheetFormat"])["schema"]["enum"]
    document = resolved(BODY["examples"][name])["value"]
    assert example_faults("/v1/sheet", document, request="SetUp", answer="Sheet", forms=forms) == []
