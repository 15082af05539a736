"""How long it takes to read a long program, against what Python needs to split the same text."""

import time

from tests.programs import raster_program

from stillstock.engine.program.read import read_program

LINES = 100_000


def fastest(work, times=3):
    """Least processor time of a few runs: other work on the machine only ever adds. [s]"""
    spent = []
    for _ in range(times):
        started = time.process_time()
        work()
        spent.append(time.process_time() - started)
    return min(spent)


def test_long_carve_is_read_in_a_few_times_what_splitting_it_takes():
    """100,000 lines: tried, 0.25 s and 3 times the split; the bound of 10 is for slower interpreters."""
    text = raster_program(LINES)

    def split():
        for line in text.split("\n"):
            [(word[0], float(word[1:] or 0)) for word in line.split()]

    reading = read_program(text, max_moves=2 * LINES, tool_numbers=[1])
    assert reading.lines == LINES
    assert len(reading.moves) > 0.9 * LINES
    assert fastest(lambda: read_program(text, max_moves=2 * LINES)) < 10 * fastest(split)
