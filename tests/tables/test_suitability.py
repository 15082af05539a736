"""The trade's facts and pairs: complete, with a ground each, and refused where a row is wrong."""

import shutil
from pathlib import Path

import pytest

from stillstock.engine.holding.register import methods
from stillstock.tables.load import load_tables
from stillstock.tables.scatter import Grade
from stillstock.tables.suitability import facts, pairs, read_facts, read_pairs

DATA = Path(__file__).parents[2] / "service/stillstock/tables/data"
KINDS = set(methods())


def test_every_fact_is_about_known_kinds_and_materials_and_has_its_ground():
    known = {word for material in load_tables().materials.values() for word in (material.key, material.family)}
    for fact in facts():
        assert set(fact.methods) <= KINDS, fact.key
        assert set(fact.stock) <= known, fact.key
        assert fact.source in load_tables().sources
        assert fact.source != "common_practice" or fact.grade is Grade.PRACTICE
        assert fact.least <= fact.most
        assert fact.words == fact.words.strip().rstrip(".")
        assert fact.words.isascii()


def test_an_option_names_a_member_of_its_kind_and_a_word_that_it_takes():
    for fact in (fact for fact in facts() if fact.option):
        name, word = fact.option
        for kind in fact.methods:
            item = next(item for item in methods()[kind].__dataclass_fields__.values() if item.name == name)  # type: ignore[attr-defined]
            assert word in item.metadata["options"], fact.key


def test_every_pair_is_of_known_kinds_and_the_one_that_holds_is_not_its_companion():
    for pair in pairs():
        assert {pair.method, *pair.companions} <= KINDS
        assert pair.method not in pair.companions


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_kind_has_its_times_and_cost(kind):
    tables = load_tables()
    for table, row in (("practice", "setup_time"), ("practice", "removal_time"), ("shop", "mounting_time")):
        assert tables.value(table, kind, row).dimension == "time"
    costs = [tables.get("shop", kind, row) for row in ("cost_each", "cost_of_square_metre")]
    assert sum(cost is not None for cost in costs) == 1


@pytest.mark.parametrize(
    ("name", "old", "new", "message"),
    [
        ("suitability.csv", "tape_on_oil,", "tape_on_dust,", r"tape_on_dust stands there twice"),
        ("suitability.csv", ",dusty,", ",dustyish,", r"line 6: unknown word 'dustyish'"),
        ("suitability.csv", "rules_out,a rough face", "forbids,a rough face", r"unknown word 'forbids'"),
        ("suitability.csv", "bow,0.002,,rules_out", "bend,0.002,,rules_out", r"unknown word 'bend'"),
        ("suitability.csv", "course_text,S\nfoam_gives", "a_book,S\nfoam_gives", r"sources.csv has no 'a_book'"),
        ("pairs.csv", "vacuum,skin,a skin keeps", "vacuum,skin,a,skin keeps", r"6 cells instead of 5"),
    ],
)
def test_a_wrong_row_is_refused_with_its_place(tmp_path, name, old, new, message):
    for file in ("suitability.csv", "pairs.csv"):
        shutil.copy(DATA / file, tmp_path / file)
    text = (tmp_path / name).read_text(encoding="utf-8")
    assert old in text
    (tmp_path / name).write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(ValueError, match=message):
        read_pairs(tmp_path) if name == "pairs.csv" else read_facts(tmp_path)
