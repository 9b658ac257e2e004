"""What tests of several folders share."""

import shutil
from collections.abc import Iterator

import pytest
from hypothesis import settings
from playwright.sync_api import Browser, sync_playwright

# How long an example takes says something about the machine, not about the code.
settings.register_profile("any machine", deadline=None)
settings.load_profile("any machine")


@pytest.fixture(autouse=True)
def no_silent_repair(
    request: pytest.FixtureRequest, caplog: pytest.LogCaptureFixture
) -> Iterator[None]:
    """Fail where a season was worked out anew because going on from its file failed.

    To a user that is no matter; in a test it would hide a fault. `damaged` marks those about it.
    """
    with caplog.at_level("INFO", logger="pipeline.upkeep"):
        yield
    records = [*caplog.get_records("setup"), *caplog.get_records("call")]
    told = [one.getMessage() for one in records if one.name == "pipeline.upkeep"]
    if "damaged" not in request.keywords:
        assert told == []


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Give one browser for the session: a second one in the same process is refused."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium") or "chromium", args=["--no-sandbox"]
        )
        yield browser
        browser.close()
