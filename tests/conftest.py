"""What tests of many folders share."""

from collections.abc import Iterator

import pytest

from stillstock.answers import remedies


@pytest.fixture(scope="module")
def no_remedies() -> Iterator[None]:
    """Leave out the search for remedies, which changes no other member of an answer and takes most of its time."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(remedies, "WORK", 0.0)
        yield
