"""What the service remembers in the book's folder `service/`: small files, each written whole."""

import json
from pathlib import Path
from typing import Any

from pipeline.book.book import Book, write_whole


def folder(book: Book) -> Path:
    """Return the service's folder, made where it is not there, readable by its owner alone."""
    path = book.path / "service"
    path.mkdir(mode=0o700, exist_ok=True)
    return path


def read_note(book: Book, name: str) -> dict[str, Any]:
    """Return a note; empty where there is none or it cannot be read: it is then made anew."""
    path = book.path / "service" / f"{name}.json"
    try:
        return dict(json.loads(path.read_text("utf-8")))
    except (OSError, ValueError, TypeError):
        return {}


def write_note(book: Book, name: str, content: dict[str, Any]) -> None:
    """Write a note whole."""
    path = folder(book) / f"{name}.json"
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, json.dumps(content, ensure_ascii=False, indent=1, default=str).encode())


def add_line(book: Book, name: str, content: dict[str, Any], *, most: int) -> None:
    """Add a line to a history, which keeps its latest `most` lines."""
    path = folder(book) / f"{name}.jsonl"
    lines = path.read_text("utf-8").splitlines() if path.exists() else []
    lines.append(json.dumps(content, ensure_ascii=False, default=str))
    write_whole(path, ("\n".join(lines[-most:]) + "\n").encode())


def read_lines(book: Book, name: str) -> list[dict[str, Any]]:
    """Return the lines of a history, the oldest first."""
    path = book.path / "service" / f"{name}.jsonl"
    return (
        [json.loads(line) for line in path.read_text("utf-8").splitlines()] if path.exists() else []
    )
