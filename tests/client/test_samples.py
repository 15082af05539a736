"""The samples beside the client, and its offline check, held to the service's own schema."""

import json
from pathlib import Path

import stillstock_client
from stillstock.schemas.set_up import SetUpSchema, load_set_up
from stillstock.schemas.shop import OWN
from stillstock.tables.load import load_tables

EXAMPLES = Path(stillstock_client.__file__).parent / "examples"


def test_the_sample_files_make_one_set_up():
    profile = json.loads((EXAMPLES / "shop_profile.json").read_text())
    side_car = json.loads((EXAMPLES / "chopping_board.nc.setup.json").read_text())
    program = (EXAMPLES / "chopping_board.nc").read_text()
    document = stillstock_client.merge(profile, side_car, {"program": {"text": program}})
    set_up = load_set_up(document, load_tables()).set_up
    assert [holder.kind for holder in set_up.holders] == ["strap_clamp", "strap_clamp", "stop"]
    assert set_up.machine.spindle_power == 1500.0
    assert set_up.stock.thickness == (0.019, 0.0193)


def test_the_offline_check_knows_every_field_of_the_service():
    fields = {field.data_key or name for name, field in SetUpSchema().fields.items()}
    assert fields <= set(stillstock_client.SET_UP_FIELDS)
    assert set(stillstock_client.QUESTION_FIELDS) == set(OWN)
