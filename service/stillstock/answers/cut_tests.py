"""What should be said of the shop's own slot tests."""

from stillstock.answers.notices import Notice
from stillstock.engine.cutting.coefficients import coefficient_box
from stillstock.engine.cutting.cut_test import force_on_table
from stillstock.engine.set_up import SetUp

__all__ = ["cut_test_notices"]


def cut_test_notices(set_up: SetUp) -> list[Notice]:
    """Return a notice for each test that lies outside the table's band: the test counts, and may want a second look."""
    found = []
    for index, test in enumerate(set_up.cut_tests):
        box = coefficient_box(set_up.stock.material, set_up.tools[test.tool])
        if box is None:
            continue
        least, most = force_on_table(test, tool=set_up.tools[test.tool], box=box)
        if least >= 1.0 >= most:
            continue
        beside = f"{most:.1f} times the most" if most > 1.0 else f"{least:.2f} of the least"
        detail = (
            f"the slot test asks {beside} force that is known of {set_up.stock.material.title}; the test counts; "
            "see whether idle power was taken off and the edge is the one that will cut"
        )
        found.append(Notice(code="cut_test_beyond_table", detail=detail, pointer=f"/cut_test/{index}/net_power"))
    return found
