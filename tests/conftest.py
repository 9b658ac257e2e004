"""What tests of several folders share."""

import shutil
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, sync_playwright


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Give one browser for the session: a second one in the same process is refused."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium") or "chromium", args=["--no-sandbox"]
        )
        yield browser
        browser.close()
