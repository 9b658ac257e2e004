"""Where a backup is written: a folder, or any storage that fsspec knows (s3://bucket/folder)."""

import errno
import os
from collections.abc import Generator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from pipeline.book.book import write_whole
from pipeline.errors import BackupError
from pipeline.storage import is_address, opened, trouble


class Place:
    """Named pieces of bytes, each written whole or not at all."""

    def __init__(self, where: str) -> None:
        self.where = where
        self.local = not is_address(where)
        with self._told("reached"):
            path = str(Path(where).expanduser().absolute()) if self.local else where
            self._fs, self._root = opened(path)

    @contextmanager
    def _told(self, what: str) -> Generator[None]:
        """Turn what storage says into a sentence with a remedy."""
        try:
            yield
        except BackupError:
            raise
        except Exception as error:
            # Each kind of storage has errors of its own.
            if isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT):
                said = f"{self.where} is full. Make room, or name another place, and back up again."
            else:
                said = trouble(self.where, what, error)
            raise BackupError(said) from None

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
        """Return the size of every whole piece below a folder, by its name within it."""
        with self._told("read"):
            self._fs.invalidate_cache()
            top = f"{self._root}/{folder}"
            if not self._fs.exists(top):
                return {}
            found: dict[str, Any] = self._fs.find(top, detail=True)
        start = len(top.rstrip("/")) + 1
        # What is being written, or was when its writer was killed, has no name of its own yet.
        return {
            path[start:]: int(one["size"])
            for path, one in found.items()
            if not path.rpartition("/")[2].startswith(".part-")
        }
