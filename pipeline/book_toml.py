"""The tables of a settings file, each of which says where it is when a key is missing or wrong."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any, cast

from pipeline.errors import SettingsError
from pipeline.intake.names import LANGUAGES


class Table:
    """One table of book.toml, or of another `file`, that says where it is when a key is wrong."""

    def __init__(self, where: str, raw: object, file: str = "book.toml") -> None:
        if not isinstance(raw, dict):
            raise SettingsError(f"{file}: [{where}] is missing. Copy it from an example book.")
        self.where = where
        self.file = file
        self.raw: dict[str, Any] = raw

    def wrong(self, key: str, why: str) -> SettingsError:
        """Return the refusal of a key: table, key, value, why."""
        value = self.raw.get(key)
        return SettingsError(f"{self.file}, [{self.where}], {key} = {value!r}: {why}")

    def text(self, key: str, default: str | None = None) -> str:
        """Read a text; without a default it may be neither missing nor blank."""
        value = self.raw.get(key, default)
        if not isinstance(value, str) or (default is None and not value.strip()):
            raise self.wrong(key, "a text in quotes is needed here.")
        return value

    def whole(self, key: str) -> int:
        """Read a whole number of nought or more."""
        value = self.raw.get(key)
        if not isinstance(value, int) or isinstance(value, bool) or value < 0:
            raise self.wrong(key, "a whole number is needed here.")
        return value

    def day(self, key: str) -> date:
        """Read a civil day."""
        value = self.raw.get(key)
        if type(value) is not date:
            raise self.wrong(key, "a date such as 2026-03-30, without quotes, is needed here.")
        return value

    def number(self, key: str) -> Decimal:
        """Read a number that is written in quotes, so that no binary rounding touches it."""
        try:
            value = Decimal(self.text(key))
        except InvalidOperation:
            raise self.wrong(key, 'a number in quotes such as "0.02" is needed here.') from None
        if not value.is_finite() or value < 0:
            raise self.wrong(key, "a number of nought or more is needed here.")
        return value

    def texts(self, key: str, allowed: Sequence[str] = ()) -> tuple[str, ...]:
        """Read a list of texts, each one of those allowed; none where the key is not there."""
        value: Any = self.raw.get(key, [])
        wanted = f"a list of: {', '.join(allowed)}" if allowed else "a list of texts"
        if not isinstance(value, list):
            raise self.wrong(key, f"{wanted} is needed here.")
        found = cast(list[object], value)
        if any(not isinstance(one, str) or (allowed and one not in allowed) for one in found):
            raise self.wrong(key, f"{wanted} is needed here.")
        return tuple(str(one) for one in found)

    def in_languages(self, key: str) -> dict[str, str]:
        """Read texts by language, such as `names.fr = "..."`; none where there are none."""
        value: Any = self.raw.get(key, {})
        wanted = f'write it by language: {key}.fr = "..." and so on, of {", ".join(LANGUAGES)}.'
        if not isinstance(value, dict):
            raise self.wrong(key, wanted)
        found = cast(dict[str, object], value)
        if any(language not in LANGUAGES for language in found):
            raise self.wrong(key, wanted)
        if any(not isinstance(text, str) or not text.strip() for text in found.values()):
            raise self.wrong(key, wanted)
        return {language: str(text) for language, text in found.items()}

    def by_language(self, key: str) -> dict[str, str]:
        """Read a text, or texts by language; "" is what languages without one of their own say."""
        if not isinstance(self.raw.get(key), dict):
            return {"": self.text(key)}
        found = self.in_languages(key)
        if not found:
            raise self.wrong(key, "a text in quotes is needed here.")
        return {"": found.get("en", next(iter(found.values()))), **found}

    def tables(self, key: str) -> "list[Table]":
        """Read the tables of one name, none where there are none."""
        value: Any = self.raw.get(key, [])
        if not isinstance(value, list):
            raise self.wrong(key, f"write each one as its own [[{key}]] table.")
        return [Table(f"[{key}]", item, self.file) for item in cast(list[object], value)]
