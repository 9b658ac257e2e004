"""Tells the manager by mail or the like: each trouble once, until it ends or says another thing."""

import hashlib
import logging
from collections.abc import Sequence

from pipeline.book.book import Book
from pipeline.service.config import ServiceSettings
from pipeline.service.notes import add_line, read_note, write_note

# What was told, for whoever asks later.
HISTORY = 500


def tell(book: Book, settings: ServiceSettings, about: str, wrong: Sequence[str], at: str) -> bool:
    """Send what is wrong about a thing to all addresses; return whether a message went out.

    The same trouble is told once. Nothing wrong ends it, so that it is told when it comes again.
    Where no message can be sent, that is noted and the trouble is told with the next.
    """
    told = read_note(book, "told")
    mark = hashlib.sha256("\n".join(wrong).encode()).hexdigest() if wrong else ""
    if told.get(about, "") == mark:
        return False
    sent = bool(wrong) and send(settings, f"Weighbook, {book.path.name}: {about}", wrong)
    if sent or not wrong or not settings.notify:
        write_note(book, "told", told | {about: mark})
    if wrong:
        line = {"at": at, "about": about, "wrong": list(wrong), "sent": sent}
        add_line(book, "messages", line, most=HISTORY)
    return sent


def send(settings: ServiceSettings, title: str, lines: Sequence[str]) -> bool:
    """Send a message to all addresses; False where there is none or one could not be reached."""
    if not settings.notify:
        return False
    import apprise

    logging.getLogger("apprise").setLevel(logging.CRITICAL)
    sender = apprise.Apprise()
    if not all([sender.add(address) for address in settings.notify]):
        return False
    return bool(sender.notify(title=title, body="\n\n".join(lines)))
