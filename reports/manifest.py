"""What an issue holds: every file with its hash, and an entry for each statement."""

from __future__ import annotations

import json
import re
import unicodedata
from dataclasses import asdict, dataclass
from hashlib import sha256
from pathlib import Path

MANIFEST = "manifest.json"


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """One member's entry of a manifest; `content` is the hash of what the statement says.

    `txt`: the words to read aloud; `message`: the statement as a text message.
    """

    member_no: str
    village: str
    name: str
    number: str
    version: int
    day: str
    content: str
    html: str
    pdf: str
    txt: str = ""
    message: str = ""


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


def file_name(text: str) -> str:
    """A name that any file system takes; Lower Tarrin gives lower-tarrin, 10427 stays.

    Other texts give other names, but for the words of a place: there only letters' case differs.
    """
    bare = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    plain = re.sub(r"[^a-z0-9]+", "-", bare.casefold()).strip("-")[:60]
    if re.fullmatch(r"[0-9]{1,60}|([A-Z][a-z]{3,14} ?){1,4}(?<! )", text):
        return plain
    # What was lost or folded above, the mark tells apart; no system keeps such a name for itself.
    return f"{plain or 'x'}-{sha256(text.encode()).hexdigest()[:8]}"
