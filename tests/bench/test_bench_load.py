"""The load figures' own reading: every operation is asked, and what the load generator prints is read right."""

import pytest
from tests.bench.bench_load import Figures, computations, figures_in, look_ups, refusals
from tests.contract.documents import contract

from stillstock.app import create_app

#: Printed by wrk 4.1 on a run of one second; behind a unit of one letter it leaves a blank.
REPORT = """Running 1s test @ http://127.0.0.1:40113
  1 threads and 4 connections
  Thread Stats   Avg      Stdev     Max   +/- Stdev
    Latency     3.96ms    5.83ms  48.29ms   92.91%
    Req/Sec     1.62k   512.81     2.32k    70.00%
  Latency Distribution
     50%  812.00us
     75%    4.27ms
     90%    7.52ms
     99%    1.21s
  1615 requests in 1.00s, 1.02MB read
  Non-2xx or 3xx responses: 7
Requests/sec:   1612.53
Transfer/sec:      1.02MB
""".replace("1.21s", "1.21s ")


def test_the_report_is_read_in_seconds():
    assert figures_in(REPORT) == Figures(rate=1612.53, half=812e-6, most=1.21, count=1615, refused=7)


def test_a_report_with_broken_connections_is_no_figure():
    with pytest.raises(RuntimeError, match="Socket errors"):
        figures_in(REPORT + "  Socket errors: connect 0, read 3, write 0, timeout 0\n")


def test_every_operation_of_the_contract_is_asked():
    stated = {(method, path) for path, item in contract()["paths"].items() for method in item}
    client = create_app().test_client()
    assert {("post", path) for path in computations()} == {each for each in stated if each[0] == "post"}
    assert len(look_ups()) == len([each for each in stated if each[0] == "get"])
    assert [client.get(ask.path).status_code for ask in look_ups()] == [200] * len(look_ups())


def test_what_is_refused_is_refused_for_the_member_that_nobody_knows():
    client = create_app().test_client()
    for path, (ask,) in refusals().items():
        answer = client.post(path, json=ask.document)
        assert answer.status_code == 400
        assert [fault["pointer"] for fault in answer.get_json()["errors"]] == ["/no_such_member"]
