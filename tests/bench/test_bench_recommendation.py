"""The measurement itself, on a question that says nothing about speed: it runs, and its parts fit together."""

from tests.bench.bench_recommendation import QUESTION, ratio


def test_a_recommendation_is_measured_against_margins_of_what_it_recommends():
    load = {"name": "measured", "at": [150, 100, -3], "force": [40, 20, 15]}
    shop = {"holders": [{"kind": "film_tape"}, {"kind": "vise"}]}
    found = ratio({**QUESTION, "cuts": [], "loads": [load], "shop": shop}, rounds=1)
    assert (found["ways"], found["judged"]) == (2.0, 1.0)
    assert found["ratio"] == found["recommendation"] / found["margin"] > 0.0
    assert 0.0 < found["solver"] < 1.0
