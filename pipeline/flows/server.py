"""Prefect's server on loopback, as a process of the service."""

import sys

from pipeline.service.child import end_with_parent


def main(port: str) -> None:
    """Serve until ended: what `prefect server start` does, without its command line."""
    end_with_parent()
    import uvicorn
    from prefect.server.api.server import create_app

    uvicorn.run(
        create_app(final=True),
        host="127.0.0.1",
        port=int(port),
        log_level="warning",
        access_log=False,
        timeout_keep_alive=5,
    )


if __name__ == "__main__":
    main(*sys.argv[1:])
