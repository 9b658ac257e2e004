"""The hash of the rule table, kept with everything worked out by it."""

import hashlib
from functools import cache
from importlib import resources

from checks.rules import RULES


@cache
def rules_hash() -> str:
    """Return the SHA-256 of all rules, limits and queries, so that a change to any is noticed."""
    digest = hashlib.sha256()
    for rule in RULES:
        digest.update(repr(rule).encode())
    folder = resources.files("checks")
    digest.update(folder.joinpath("limits.toml").read_bytes())
    for query in sorted(folder.joinpath("sql").iterdir(), key=lambda entry: entry.name):
        digest.update(query.read_bytes())
    return digest.hexdigest()
