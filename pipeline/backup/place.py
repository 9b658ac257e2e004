"""Where a backup is written: a folder, or any storage that fsspec knows (s3://bucket/folder)."""

import errno
import os
from collections.abc import Generator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import fsspec

from pipeline.book.book import write_whole
from pipeline.errors import BackupError

# It has no types of its own.
_fsspec: Any = fsspec


class Place:
    """Named pieces of bytes, each written whole or not at all."""

    def __init__(self, where: str) -> None:
        self.where = where
        self.local = "://" not in where
        with self._told("reached"):
            path = str(Path(where).expanduser().absolute()) if self.local else where
            found: Any = _fsspec.url_to_fs(path)
            self._fs: Any = found[0]
            self._root = str(found[1])

    @contextmanager
    def _told(self, what: str) -> Generator[None]:
        """Turn what storage says into a sentence with a remedy."""
        try:
            yield
        except BackupError:
            raise
        except ImportError as error:
            raise BackupError(
                f"{self.where} needs a package that is not installed: {error}. Install it."
            ) from None
        except FileNotFoundError:
            raise BackupError(
                f"Something is gone from {self.where}. Look whether the disk is still there."
            ) from None
        except OSError as error:
            full = error.errno in (errno.ENOSPC, errno.EDQUOT)
            raise BackupError(
                f"{self.where} is full. Make room, or name another place, and back up again."
                if full
                else f"{self.where} cannot be {what}: {error.strerror or error}. "
                "Is it there, and may you write there?"
            ) from None
        except Exception as error:
            # Each kind of storage has errors of its own.
            raise BackupError(
                f"{self.where} cannot be {what}: {error!s:.200}. "
                "Is it within reach, and are name and password right?"
            ) from None

    def write(self, name: str, content: bytes) -> None:
        """Write a piece; on return it is safe."""
        with self._told("written"):
            if self.local:
                path = Path(self._root, name)
                path.parent.mkdir(parents=True, exist_ok=True)
                write_whole(path, content)
                os.chmod(path, 0o600)
            else:
                self._fs.pipe_file(f"{self._root}/{name}", content)

    def read(self, name: str) -> bytes:
        """Return a piece."""
        with self._told("read"):
            return bytes(self._fs.cat_file(f"{self._root}/{name}"))

    def has(self, name: str) -> bool:
        """Tell whether a piece is there."""
        with self._told("read"):
            return bool(self._fs.exists(f"{self._root}/{name}"))

    def sizes(self, folder: str) -> dict[str, int]:
        """Return the size of every piece below a folder, by its name within it."""
        with self._told("read"):
            self._fs.invalidate_cache()
            top = f"{self._root}/{folder}"
            if not self._fs.exists(top):
                return {}
            found: dict[str, Any] = self._fs.find(top, detail=True)
        start = len(top.rstrip("/")) + 1
        return {path[start:]: int(one["size"]) for path, one in found.items()}
