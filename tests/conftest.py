"""One browser for every test that looks at a page; a cache of their own for all."""

import os
import shutil
from collections.abc import Iterator
from typing import Any

import pytest

CHROMIUM = next((found for name in ("chromium", "chromium-browser") if (found := shutil.which(name))), None)


@pytest.fixture(scope="session", autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep the plans that commands keep out of the cache of whoever runs the tests; processes side by side share one."""
    before, folder = os.environ.get("XDG_CACHE_HOME"), tmp_path_factory.getbasetemp()
    shared = folder.parent if os.environ.get("PYTEST_XDIST_WORKER") else folder
    os.environ["XDG_CACHE_HOME"] = str(shared / "cache-of-all")
    yield
    os.environ.pop("XDG_CACHE_HOME")
    if before is not None:
        os.environ["XDG_CACHE_HOME"] = before


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """Return a browser without a window; it ends with its file, as its event loop would stand in the way of other tests."""
    if CHROMIUM is None:
        pytest.skip("needs a chromium on the path (Debian package chromium)")
    playwright = pytest.importorskip("playwright.sync_api", reason="needs playwright")
    with playwright.sync_playwright() as running:
        one = running.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        yield one
        one.close()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put files with slow tests first: two that run side by side end together only if the long ones begin early."""
    slow = {one.path for one in items if one.get_closest_marker("slow")}
    items.sort(key=lambda one: one.path not in slow)
