"""The page that lists the settings lists all of them, in order, with the defaults that hold."""

from pathlib import Path

from stillstock.settings import settings_table

PAGE = (Path(__file__).parents[2] / "service/deploy/README.md").read_text()


def test_the_table_of_settings_is_the_service_s_own():
    rows = [f"| `{name}` | {default or '(empty)'} | {says} |" for name, (default, says) in settings_table().items()]
    stated = [line for line in PAGE.splitlines() if line.startswith("| `STILLSTOCK_")]
    assert stated == rows, "the page should say:\n" + "\n".join(rows)
