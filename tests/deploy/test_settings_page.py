"""The page that lists the settings lists all of them, with the defaults that hold."""

import re
from pathlib import Path

from stillstock.settings import settings_table

PAGE = (Path(__file__).parents[2] / "service/deploy/README.md").read_text()


def test_the_table_of_settings_is_the_service_s_own():
    rows = re.findall(r"^\| `(STILLSTOCK_[A-Z_]+)` \| (.*?) \| (.*) \|$", PAGE, re.M)
    assert {name: ("" if default == "(empty)" else default, says) for name, default, says in rows} == settings_table()
    assert len(rows) == len(settings_table())
