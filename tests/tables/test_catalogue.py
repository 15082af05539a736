"""The catalogue of ways of holding: whole, sourced, and about the kinds that there are."""

import pytest
import yaml

from stillstock.engine.holding.register import methods
from stillstock.tables.catalogue import FACTS, SECTIONS, holder_entries, read_entries
from stillstock.tables.load import load_tables
from stillstock.tables.scatter import Grade

TABLES = load_tables()
KINDS = tuple(methods())

SMALL = """
every: {hurts: [Local codes come first.]}
kinds:
  stop:
    use: [Placing.]
    not_for: [Holding down.]
    needs: [["A clean face.", fixture_text]]
    weakens: [Chips.]
    put_on: [Screw it down.]
    take_off: [Unscrew it.]
    hurts: [It is hard.]
    pull_test: [Push at it.]
    facts: {leaves_face_free: true, holds_down: false, holds_sideways: true, places: true, cutter_safe: false,
            marks_stock: false, in_program: false}
    rows: [vise/fence]
"""


def changed(**members):
    document = yaml.safe_load(SMALL)
    document["kinds"]["stop"].update(members)
    return yaml.safe_dump(document)


def test_every_kind_has_an_entry_and_every_entry_a_kind():
    assert tuple(holder_entries()) == KINDS


@pytest.mark.parametrize("kind", KINDS)
def test_an_entry_says_something_in_every_section(kind):
    entry = holder_entries()[kind]
    assert tuple(entry.sections) == SECTIONS
    for said in entry.sections.values():
        assert all(one.text.strip() == one.text and one.text.endswith(".") for one in said)
    assert len(entry.sections["put_on"]) >= 3
    assert tuple(entry.facts) == FACTS
    assert entry.rows


@pytest.mark.parametrize("kind", KINDS)
def test_an_entry_sends_its_reader_to_local_codes_and_makers(kind):
    said = holder_entries()[kind].sections["hurts"]
    assert any("Local codes" in one.text and "makers" in one.text for one in said)


@pytest.mark.parametrize("kind", KINDS)
def test_every_sentence_and_number_names_its_ground(kind):
    entry = holder_entries()[kind]
    sources = [one.source for said in entry.sections.values() for one in said] + [r.value.source for r in entry.rows]
    assert set(sources) <= set(TABLES.sources)
    assert all(row.value.grade in Grade for row in entry.rows)


@pytest.mark.parametrize("kind", ["foam_tape", "film_tape", "tape_and_ca", "polymer_nail", "side_clamp"])
def test_where_no_value_is_published_the_numbers_say_that_a_pull_test_is_needed_or_that_it_is_practice(kind):
    """Widely scattered numbers carry their doubt: a row of common practice, or a note that asks for the test."""
    rows = holder_entries()[kind].rows
    assert any(row.value.grade is Grade.PRACTICE or "pull test" in row.value.note for row in rows)


def test_what_holds_down_by_nothing_but_friction_of_its_side_does_not_count_as_holding_down():
    """Common practice, no source: stops, dowels, side clamps and plain jaws place and squeeze; none holds down."""
    assert [kind for kind in KINDS if not holder_entries()[kind].facts["holds_down"]] == [
        "dowel_pin",
        "side_clamp",
        "stop",
        "vise",
    ]


@pytest.mark.parametrize(
    ("members", "why"),
    [
        ({"use": []}, "says nothing"),
        ({"price": ["Cheap."]}, "missing or unknown: price"),
        ({"needs": [["A face.", "nobody"]]}, "sources.csv has no 'nobody'"),
        ({"rows": ["vise/nothing"]}, "no 'vise/nothing'"),
        ({"rows": ["vise"]}, "no 'vise'"),
        ({"facts": {"places": True}}, "yes or no"),
    ],
)
def test_a_wrong_entry_is_refused_with_its_place(members, why):
    with pytest.raises(ValueError, match=why):
        read_entries(changed(**members), tables=TABLES)


def test_a_right_entry_is_read():
    entry = read_entries(SMALL, tables=TABLES)["stop"]
    assert [one.source for one in entry.sections["needs"]] == ["fixture_text"]
    assert [one.text for one in entry.sections["hurts"]] == ["It is hard.", "Local codes come first."]
    assert [row.property for row in entry.rows] == ["repeatability"]
