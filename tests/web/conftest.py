"""One server for the tests of a file, on a folder of its own."""

from collections.abc import Iterator

import pytest
from served import Client, Served, serving


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A running server."""
    with serving(tmp_path_factory.mktemp("web") / "data") as running:
        yield running


@pytest.fixture
def client(served: Served) -> Client:
    """A program that talks to it."""
    return served.client()
