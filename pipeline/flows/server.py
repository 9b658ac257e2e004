"""Prefect's server on loopback, as a process of the service."""

import sys

from pipeline.service.child import end_with_parent


def main(port: str) -> None:
    """Serve until ended: what `prefect server start` runs in the foreground."""
    end_with_parent()
    from prefect.cli import app

    sys.argv = ["prefect", "server", "start", "--host", "127.0.0.1", "--port", port]
    app()


if __name__ == "__main__":
    main(*sys.argv[1:])
