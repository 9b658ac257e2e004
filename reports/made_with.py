"""What statements are made with: where any of it changes, an issue draws all of them anew."""

from __future__ import annotations

import re
from functools import cache
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path

from reports.render import TEMPLATES, font_packages

HOME = Path(__file__).parent
_PACKAGES = ("typst", "pikepdf", "jinja2", "babel", "fonttools", "zxing-cpp")
# The house imports one way: `from reports.x import ...` or `from reports import x, y`.
_IMPORT = re.compile(r"^from reports(?:\.(\w+)| import ([^(\n]+|\([^)]+\)))", re.MULTILINE)
_NAMED = re.compile(r"(\w+)(?: as \w+)?")


@cache
def made_with(key: bytes | None = None) -> str:
    """SHA-256 in hex of templates, drawing code, versions of libraries and the public key."""
    seal = sha256()
    for path in (*sorted(TEMPLATES.iterdir()), *drawing_code(HOME)):
        seal.update(path.name.encode() + path.read_bytes())
    for package in (*_PACKAGES, *font_packages()):
        seal.update(f"{package} {version(package)}".encode())
    if key is not None:
        seal.update(b"signed by " + key)
    return seal.hexdigest()


def drawing_code(home: Path) -> tuple[Path, ...]:
    """The modules that `reports.drawing` needs of this package, itself among them, by name.

    What only fills the model is no matter here, as the model is hashed too; that a few such
    modules are among them costs a needless drawing, a missing one would leave an old paper.
    """
    found: set[str] = set()
    waiting = {"drawing"}
    while waiting:
        name = waiting.pop()
        found.add(name)
        text = (home / f"{name}.py").read_text(encoding="utf-8")
        for module, several in _IMPORT.findall(text):
            waiting |= ({module} if module else set(_NAMED.findall(several))) - found
    return tuple(home / f"{name}.py" for name in sorted(found))
