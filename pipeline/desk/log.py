"""Who did what at the desk: one line a deed in a file of the book, beside the journal."""

import json
import os
import threading
from collections import deque
from pathlib import Path

from pipeline.book.book import Book, now


class Log:
    """Appends deeds and reads the latest; holds no password, code or token."""

    def __init__(self, book: Book) -> None:
        self.path: Path = book.path / "desk" / "log.jsonl"
        self._lock = threading.Lock()

    def note(self, who: str, did: str, what: str = "") -> None:
        """Write a deed down: who, what was done, and on what."""
        line = json.dumps({"at": now(), "who": who, "did": did, "what": what}, ensure_ascii=False)
        with self._lock:
            handle = os.open(self.path, os.O_APPEND | os.O_CREAT | os.O_WRONLY, 0o600)
            with os.fdopen(handle, "a", encoding="utf-8") as file:
                file.write(line + "\n")

    def latest(self, most: int = 200) -> list[dict[str, str]]:
        """Return the latest deeds, the newest first."""
        if not self.path.exists():
            return []
        with self.path.open(encoding="utf-8") as file:
            last = deque(file, most)
        return [json.loads(line) for line in reversed(last)]
