"""The errors that stop a command: each kind has an exit code, and says what to do."""


class WeighbookError(Exception):
    """A command cannot go on; `str()` is the sentence shown, `exit_code` what the shell gets."""

    exit_code = 1


class BookError(WeighbookError):
    """The book is not there, is not a book, or cannot be written just now."""

    exit_code = 3


class SettingsError(WeighbookError):
    """A setting in book.toml cannot be used."""

    exit_code = 4


class DamageError(WeighbookError):
    """Something kept is not what it was when it was kept."""

    exit_code = 5


class DecisionError(WeighbookError):
    """A decision cannot be taken as it was asked for."""

    exit_code = 6


class GateError(WeighbookError):
    """The checks before issue hold the documents back."""

    exit_code = 7


class ConservationError(WeighbookError):
    """Rows, kilograms or money do not add up: a fault of the program, and nothing is written."""

    exit_code = 8


class FigureError(WeighbookError):
    """No such figure, or it cannot be explained."""

    exit_code = 9


class DocumentError(WeighbookError):
    """A document cannot be made, for example since no font shows a member's name."""

    exit_code = 10


class AccountError(WeighbookError):
    """An account, code or token cannot be used or made so."""

    exit_code = 12


class SheetNameError(WeighbookError):
    """A file cannot be taken under the name it was sent with."""

    exit_code = 13


class BackupError(WeighbookError):
    """A backup cannot be made, read or trusted."""

    exit_code = 14


class ServiceError(WeighbookError):
    """The service cannot run, or a part of it is not there."""

    exit_code = 15


class GenuineError(WeighbookError):
    """A statement is not genuine, or what was shown holds no code."""

    exit_code = 16


# `take` ends with these when it did its work but some of what arrived waits for the clerk.
ROWS_SENT_BACK = 20
SHEETS_NOT_READ = 21


class PostingError(WeighbookError):
    """Money cannot be posted or paid as it was asked for; nothing of it was."""

    exit_code = 11
