"""Storage that is no folder of this machine: addresses such as s3://bucket/folder.

fsspec knows many kinds of storage by their address; those of S3, Google and Azure are read and
written by obstore, which takes keys, region and endpoint from the environment (AWS_ACCESS_KEY_ID,
AWS_SECRET_ACCESS_KEY, AWS_REGION, AWS_ENDPOINT_URL and the like).
"""

from functools import cache
from typing import Any

# Neither has types of its own that say what is needed here.
BY_OBSTORE = ("s3", "gs", "az")


def is_address(where: str) -> bool:
    """Tell whether a place is named by an address, not by a folder's path."""
    return "://" in where


def opened(where: str) -> tuple[Any, str]:
    """Return the file system behind an address or a folder's path, and the path within it."""
    import fsspec

    if where.partition("://")[0] in BY_OBSTORE:
        _register()
    known: Any = fsspec
    fs, root = known.url_to_fs(where)
    return fs, str(root).rstrip("/")


@cache
def _register() -> None:
    from obstore.fsspec import register

    register(list(BY_OBSTORE))


def trouble(where: str, what: str, error: Exception) -> str:
    """Say why a place cannot be `what` (read, written, reached), and what to do."""
    said = str(error).strip().partition("\n")[0][:200]
    if isinstance(error, ImportError):
        return f"{where} needs a package that is not installed: {said}. Install it."
    if isinstance(error, FileNotFoundError):
        return f"Something is gone from {where}. Look whether the disk or bucket is still there."
    if isinstance(error, OSError) and not is_address(where):
        said = error.strerror or said
        return f"{where} cannot be {what}: {said}. Is it there, and may you write there?"
    return (
        f"{where} cannot be {what}: {said}. "
        "Is it within reach, and are name, key and password right?"
    )
