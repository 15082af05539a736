"""The shop profile under the side-car under the request."""

import pytest

from stillstock_client import BadInput, merge


def test_objects_merge_deep_and_the_upper_layer_wins():
    profile = {"units": "metric", "bed": {"material": "mdf", "thickness": 18}, "machine": {"park": [0, 0, 40]}}
    side_car = {
        "units": "metric",
        "bed": {"thickness": 16.2},
        "stock": {"size": [300, 200, 18], "thickness": [17.4, 17.8]},
    }
    request = {"stock": {"size": ["301 mm", "200 mm", "18 mm"]}, "tools": {"1": {"flutes": 2}}}
    assert merge(profile, side_car, request) == {
        "units": "metric",
        "bed": {"material": "mdf", "thickness": 16.2},
        "machine": {"park": [0, 0, 40]},
        "stock": {"size": ["301 mm", "200 mm", "18 mm"], "thickness": [17.4, 17.8]},
        "tools": {"1": {"flutes": 2}},
    }


def test_lists_are_replaced_whole():
    below = {"holders": [{"kind": "stop"}, {"kind": "vise"}]}
    assert merge(below, {"holders": [{"kind": "screw"}]}, None) == {"holders": [{"kind": "screw"}]}


def test_null_and_plain_values_replace_what_lies_below():
    assert merge({"machine": {"shoe": {"diameter": 90}}}, {"machine": {"shoe": None}}, {}) == {
        "machine": {"shoe": None}
    }
    assert merge({"zero": {"z": "bed"}}, {"zero": "stock_top"}, None) == {"zero": "stock_top"}


def test_layers_are_left_as_they_were():
    profile = {"bed": {"material": "mdf"}}
    merge(profile, {"bed": {"thickness": 3}}, None)
    assert profile == {"bed": {"material": "mdf"}}


def test_units_that_disagree_are_refused_by_name():
    with pytest.raises(BadInput, match=r"inch in the shop profile, metric in the request"):
        merge({"units": "inch"}, None, {"units": "metric"})


@pytest.mark.parametrize(
    "silent",
    [{"bed": {"thickness": 18}}, {"stock": {"size": [9, 9, 1]}}, {"tools": {"1": {"flutes": 2, "diameter": 6}}}],
)
@pytest.mark.parametrize("units", ["inch", "metric"])
def test_bare_numbers_do_not_take_their_unit_from_another_layer(silent, units):
    """A spoilboard of 18 must not become 18 inches, nor one of 0.75 a film of 0.75 mm."""
    with pytest.raises(BadInput, match="bare numbers and no units"):
        merge(silent, {"units": units}, None)


def test_units_that_agree_are_taken():
    assert merge({"units": "inch", "bed": {"thickness": 0.7}}, None, {"units": "inch"})["units"] == "inch"


def test_pure_numbers_and_text_with_units_agree_with_any_units():
    profile = {"required": {"factor": 2.5}, "bed": {"thickness": "18 mm"}, "tools": {"1": {"flutes": 2}}}
    assert merge(profile, {"units": "inch"}, {"program": {"text": "G1 X1"}})["required"] == {"factor": 2.5}
