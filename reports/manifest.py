"""What an issue holds: every file with its hash, and an entry for each statement."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path

MANIFEST = "manifest.json"


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """One member's entry of a manifest; `content` is the hash of what the statement says."""

    member_no: str
    village: str
    name: str
    number: str
    version: int
    day: str
    content: str
    html: str
    pdf: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifest:
    """What an issue holds: SHA-256 (hex) by file, sorted, and an entry a statement, in order."""

    season: str
    day: str
    files: dict[str, str]
    statements: tuple[Statement, ...]
    rendered: int

    def text(self) -> str:
        """The manifest as JSON; how many were rendered anew is no part of it."""
        kept = {
            "season": self.season,
            "day": self.day,
            "files": dict(sorted(self.files.items())),
            "statements": [asdict(statement) for statement in self.statements],
        }
        return json.dumps(kept, ensure_ascii=False, indent=1, sort_keys=True) + "\n"


def read_manifest(folder: Path) -> Manifest:
    """The manifest of an earlier issue."""
    kept = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
    return Manifest(
        season=kept["season"],
        day=kept["day"],
        files=kept["files"],
        statements=tuple(Statement(**entry) for entry in kept["statements"]),
        rendered=0,
    )
