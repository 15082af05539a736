"""The samples beside the client, and its offline check, held to the service's own schema."""

import json
from pathlib import Path

import stillstock_client
from stillstock.app import create_app
from stillstock.schemas.set_up import SetUpSchema, load_set_up
from stillstock.schemas.shop import OWN
from stillstock.tables.load import load_tables

EXAMPLES = Path(stillstock_client.__file__).parent / "examples"


def sample():
    profile = json.loads((EXAMPLES / "shop_profile.json").read_text())
    side_car = json.loads((EXAMPLES / "chopping_board.nc.setup.json").read_text())
    program = (EXAMPLES / "chopping_board.nc").read_text()
    return stillstock_client.merge(profile, side_car, {"program": {"text": program}})


def test_the_sample_files_make_one_set_up():
    set_up = load_set_up(sample(), load_tables()).set_up
    assert [holder.kind for holder in set_up.holders] == [*["strap_clamp"] * 4, "stop"]
    assert set_up.machine.spindle_power == 1500.0
    assert set_up.stock.thickness == (0.019, 0.0193)


def test_the_sample_holds_and_meets_nothing():
    client = create_app().test_client()
    assert client.post("/v1/margin", json=sample()).get_json()["verdict"] == "holds"
    assert client.post("/v1/retract-height", json=sample()).get_json()["verdict"] == "clear"


def test_the_offline_check_knows_every_field_of_the_service():
    fields = {field.data_key or name for name, field in SetUpSchema().fields.items()}
    assert fields <= set(stillstock_client.SET_UP_FIELDS)
    assert set(stillstock_client.QUESTION_FIELDS) == set(OWN)
