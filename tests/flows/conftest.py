import os
from collections.abc import Iterator

import pytest


@pytest.fixture(scope="session")
def prefect_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """One server for the session, with a home of its own so that nobody's runs are touched."""
    os.environ["PREFECT_HOME"] = str(tmp_path_factory.mktemp("prefect"))
    os.environ["PREFECT_SERVER_EPHEMERAL_STARTUP_TIMEOUT_SECONDS"] = "120"
    os.environ["DO_NOT_TRACK"] = "1"
    from prefect.testing.utilities import prefect_test_harness

    with prefect_test_harness(server_startup_timeout=120):
        yield
