"""GET /v1/sources: every source with what rests on it."""

from stillstock.app import create_app
from stillstock.tables.load import load_tables


def test_every_number_rests_on_one_source_and_is_listed_there_once():
    sources = create_app().test_client().get("/v1/sources").get_json()["sources"]
    listed = [number for one in sources for number in one["rests_on_it"]]
    assert sorted(listed) == sorted("/".join(cell) for cell in load_tables().cells)
    by_key = {one["key"]: one["rests_on_it"] for one in sources}
    assert "vacuum/standard_atmosphere/pressure_0_m" in by_key["iso_2533"]
    assert "tape/film_tape/shear_strength" in by_key["common_practice"]
