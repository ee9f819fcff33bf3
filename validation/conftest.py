"""A check that asks for the fixture `table` has its `main` printed after its tests: published figures beside ours."""

from __future__ import annotations

from collections.abc import Iterator

import pytest


@pytest.fixture(scope="module")
def table(request: pytest.FixtureRequest) -> Iterator[None]:
    """Print the table of a check once all of its tests are done, whatever pytest captures."""
    yield
    capture = request.config.pluginmanager.getplugin("capturemanager")
    with capture.global_and_fixture_disabled():
        print()
        request.module.main()
