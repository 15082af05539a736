"""Grids for a list of machines from one table."""

import json

import pytest

from stillstock_client import BadInput, Client, grids

TABLE = """name,area.width [mm],area.depth [mm],pitch [in],lines.0,depth [mm],labels,passes,scale
bench,610,410,3/4,both,0.3,true,2,1.25
"Säge, lang",2440,1220,2,x,,false,3,
"""


def made(service, tmp_path, table=TABLE, **settings):
    path = tmp_path / "machines.csv"
    path.write_bytes(table if isinstance(table, bytes) else table.encode())
    out = tmp_path / "out"
    out.mkdir(exist_ok=True)
    return grids(str(path), str(out), client=Client(service.url, deadline=2.0, retries=0), **settings), out


@pytest.fixture
def svg(service, act):
    service.acts = [act.reply(b"<svg/>", kind="image/svg+xml")]
    return service


def test_rows_become_documents(svg, tmp_path):
    result, out = made(svg, tmp_path)
    assert (result.code, result.failed) == (0, [])
    assert svg.document(0) == {
        "area": {"width": "610 mm", "depth": "410 mm"},
        "pitch": "3/4 in",
        "lines": ["both"],
        "depth": "0.3 mm",
        "labels": True,
        "passes": 2,
        "scale": 1.25,
    }
    assert svg.document(1)["labels"] is False
    assert "depth" not in svg.document(1)  # an empty cell says nothing
    assert sorted(path.name for path in out.iterdir()) == ["Säge-lang.svg", "bench.svg"]


def test_names_come_from_the_template_with_units(svg, tmp_path):
    _, out = made(svg, tmp_path, template="{name}_{pitch}_{area.width}.{ext}")
    assert sorted(path.name for path in out.iterdir()) == ["Säge-lang_2in_2440mm.svg", "bench_3-4in_610mm.svg"]


def test_base_lies_under_each_row(svg, tmp_path):
    made(svg, tmp_path, base={"units": "metric", "area": {"origin": [5, 7], "width": "1 mm"}})
    assert svg.document(0)["area"] == {"origin": [5, 7], "width": "610 mm", "depth": "410 mm"}


def test_a_failing_row_stops_nothing_else(service, act, tmp_path):
    good = act.reply(b"<svg/>", kind="image/svg+xml")
    service.acts = [
        good,
        act.problem(422, title="t", errors=[{"pointer": "/pitch", "detail": "12000 marks; at most 5000"}]),
        act.reset(),
        good,
    ]
    table = "name,pitch [mm]\na,25\nb,0.1\nc,30\nd,12 mm\ne\na,26\nf,50\n"
    said: list[str] = []
    result, out = made(service, tmp_path, table, progress=said.append)
    assert sorted(path.name for path in out.iterdir()) == ["a.svg", "f.svg"]
    assert [line.split(": ")[0] for line in result.failed] == ["line 3", "line 4", "line 5", "line 6", "line 7"]
    assert "at most 5000" in result.failed[0]
    assert "states a unit" in result.failed[2]
    assert "has taken the file name a.svg" in result.failed[4]
    assert result.code == 3
    assert [line.split(" ")[0] for line in said] == [f"{count}/7" for count in range(1, 8)]


def test_refused_rows_alone_are_2(service, act, tmp_path):
    service.acts = [act.problem(422, title="t")]
    result, out = made(service, tmp_path)
    assert result.code == 2
    assert list(out.iterdir()) == []


def test_json_is_written_too(service, act, tmp_path):
    service.acts = [act.reply({"lines": [1]})]
    _, out = made(service, tmp_path, form="json")
    assert json.loads((out / "bench.json").read_text()) == {"lines": [1]}


def test_spreadsheets_with_semicolons_and_code_page_are_read(svg, tmp_path):
    made(svg, tmp_path, "name;pitch [mm]\r\nTür;12,5\r\n".encode("cp1252"))
    assert svg.document(0) == {"pitch": "12,5 mm"}  # whether a comma may stand there is the service's to say


@pytest.mark.parametrize(
    ("table", "said"),
    [
        (b"", "empty"),
        (b"name,a\nx," + b"9" * 200_000, "field larger"),
        (b"name,width [mm\na,1\n", "heading"),
        (b"name,width [mm],width [in]\na,1,2\n", "two columns"),
    ],
)
def test_unreadable_table_is_bad_input(svg, tmp_path, table, said):
    with pytest.raises(BadInput, match=said):
        made(svg, tmp_path, table)


@pytest.mark.parametrize("template", ["{machine}.svg", "../{name}.svg", "a\\{name}.svg", "{name.__class__}"])
def test_template_that_cannot_be_filled_is_bad_input(svg, tmp_path, template):
    with pytest.raises(BadInput, match="template"):
        made(svg, tmp_path, template=template)


def test_names_cannot_leave_the_folder(svg, tmp_path):
    result, out = made(svg, tmp_path, "name,pitch [mm]\n../../x,5\n..,6\n")
    assert [path.name for path in out.iterdir()] == ["x.svg"]
    assert len(result.failed) == 1


def test_column_inside_another_column_fails_its_row(svg, tmp_path):
    result, _ = made(svg, tmp_path, "name,a,a.b [mm]\nx,word,5\n")
    assert "inside another column" in result.failed[0]
