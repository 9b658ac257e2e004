"""How large what arrives may be: each limit is a setting, with a message that names it."""

from dataclasses import dataclass, fields, replace

from pipeline.intake.found import NotRead

MEBIBYTE = 1 << 20


@dataclass(frozen=True, slots=True, kw_only=True)
class IntakeLimits:
    """What `[intake]` in book.toml may raise or lower; every value is a whole number above nought.

    `file_mib`, `unpacked_mib`: MiB of a file as sent, and of all that is packed in it.
    `expansion`: how many times larger than the file its content may be; files that unpack to
    less than 16 MiB are never refused for it. `sheets`: sheets in one archive or workbook.
    `columns`: columns of a sheet. `cell_letters`: letters of a cell; the rest of a longer one is
    cut off and its row goes back. `workbook_cells`: cells that a worksheet spans, in thousands.
    `header_within`: first lines among which the headings are looked for.
    """

    file_mib: int = 2048
    unpacked_mib: int = 4096
    expansion: int = 200
    sheets: int = 5000
    columns: int = 400
    cell_letters: int = 10_000
    workbook_cells: int = 30_000
    header_within: int = 40

    @property
    def file_bytes(self) -> int:
        """Largest file, in bytes."""
        return self.file_mib * MEBIBYTE

    def unpacked_bytes(self, packed: int) -> int:
        """Most bytes that may come out of `packed` bytes."""
        return min(self.unpacked_mib * MEBIBYTE, max(16 * MEBIBYTE, packed * self.expansion))

    def lifted(self) -> "IntakeLimits":
        """Return the limits for a sheet that was taken already: what was let in is read again."""
        whole = dict.fromkeys(
            ("file_mib", "unpacked_mib", "expansion", "sheets", "columns", "workbook_cells"),
            1 << 40,
        )
        return replace(self, **whole)


# The least that a limit may be set to: below it, the program could not tell what is wrong.
LEAST = {"cell_letters": 1000, "columns": 30, "header_within": 1}
MOST = {"cell_letters": 100_000}
NAMES = tuple(field.name for field in fields(IntakeLimits))
DEFAULT = IntakeLimits()


def over(name: str, limits: IntakeLimits, *found: object) -> NotRead:
    """Return the refusal for a limit; `found`: how much there is. The limit itself comes last."""
    return NotRead(f"over-{name.replace('_', '-')}", *found, getattr(limits, name))
