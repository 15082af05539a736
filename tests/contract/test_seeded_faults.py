"""The table of planted faults fits the code as it stands; the score itself is a command of its own (DEVELOPERS.md)."""

import ast
from collections import Counter

from tests.contract.seeded_faults import PACKAGE, ROOT, beside, planted, seeded


def test_every_fault_can_be_planted_and_leaves_python_that_compiles():
    for fault in seeded():
        sound = (ROOT / fault.file).read_text(encoding="utf-8")
        wrong = planted(fault, sound)
        assert ast.dump(ast.parse(wrong)) != ast.dump(ast.parse(sound)), fault


def test_there_are_enough_of_every_kind():
    kinds = Counter(fault.kind for fault in seeded())
    assert kinds.total() >= 30
    assert set(kinds) == {"validation", "units", "negotiation", "body", "state", "mechanics", "limits", "program"}
    assert min(kinds.values()) >= 4


def test_the_tests_of_the_file_are_asked_first():
    assert beside(PACKAGE / "engine/holding/resistance.py") == ("tests/engine/holding",)
    assert beside(PACKAGE / "no/such.py") == ()
