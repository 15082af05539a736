"""The first answer that somebody sees: the report of the embedded example."""

import copy
import re
from functools import cache

from stillstock.app import create_app
from stillstock.demo import embedded_set_up, report


@cache
def answered():
    return create_app().test_client().post("/v1/margin", json=embedded_set_up()).get_json()


def test_the_report_says_margin_place_and_cautions_in_figures_that_can_be_read():
    answer = answered()
    said = report(answer, answer["units"])
    assert said.startswith(answer["summary"])
    assert f"line {answer['worst']['line']}" in said
    assert all(caution[:20] in said for caution in answer["cautions"])
    figures = re.findall(r"[0-9]+\.[0-9]+", said)
    assert figures
    assert max(len(figure.replace(".", "").lstrip("0")) for figure in figures) <= 4


def test_an_unlimited_margin_is_said_in_a_word():
    answer = copy.deepcopy(answered())
    answer["margin"] |= {"typical": None, "pessimistic": None, "unlimited": True}
    assert "unlimited with typical numbers, unlimited with everything against you" in " ".join(
        report(answer, answer["units"]).split()
    )
