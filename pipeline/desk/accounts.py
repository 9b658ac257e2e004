"""Who may sign in: password hashes, members' codes and programs' tokens, in a file of the book.

Roles and stations stand in book.toml, where the journal keeps every change; here are only secrets,
readable by the owner of the book alone, and the tries that failed.
"""

import hashlib
import os
import secrets
import sqlite3
import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from time import time

from argon2 import PasswordHasher
from argon2.exceptions import Argon2Error, InvalidHashError

from pipeline.book.book import Book
from pipeline.errors import AccountError

# No letter or digit that is read for another: no I, L, O, U, 0, 1.
LETTERS = "ABCDEFGHJKMNPQRSTVWXYZ23456789"
CODE_LETTERS = 12
LEAST_LETTERS, MOST_LETTERS = 10, 200
# Tries that may fail within the time, for one name and from one address.
TRIES, TRIES_FROM, WITHIN_S = 5, 30, 15 * 60
SCHEMA = """
create table if not exists accounts (
    name text primary key collate nocase, hash text not null, locked integer not null default 0,
    turn integer not null default 0
);
create table if not exists codes (
    hash text primary key, member_no text not null, proxy text not null, made_by text not null,
    made_at text not null
);
create table if not exists tokens (
    hash text primary key, name text not null unique, may text not null, made_at text not null
);
create table if not exists tries (who text not null, at real not null);
create table if not exists secret (key text not null);
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """One account: its name as declared, whether it is locked, and its turn.

    The turn goes up with each new password, so that every session before it ends.
    """

    name: str
    locked: bool
    turn: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Token:
    """A program that may call: what it is called, and whether it may "send" or "read"."""

    name: str
    may: str


class Accounts:
    """The accounts of one book; safe to call from any thread."""

    def __init__(self, book: Book, *, clock: Callable[[], float] = time, quick: bool = False):
        """Open the file, made with rights for its owner alone; `quick`: weak hashes, for tests."""
        folder = book.path / "desk"
        folder.mkdir(mode=0o700, exist_ok=True)
        path = folder / "accounts.sqlite"
        os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))
        path.chmod(0o600)
        self.path: Path = path
        self._clock = clock
        self._hasher = PasswordHasher(1, 8, 1) if quick else PasswordHasher()
        # What is checked where there is no such account, so that both answers take as long.
        self._nobody = self._hasher.hash(secrets.token_hex(8))
        self._lock = threading.Lock()
        self._con = sqlite3.connect(path, check_same_thread=False, isolation_level=None)
        self._con.execute("pragma busy_timeout = 5000")
        self._con.executescript(SCHEMA)

    def _ask(self, text: str, *values: object) -> list[tuple[object, ...]]:
        with self._lock:
            return self._con.execute(text, values).fetchall()

    def close(self) -> None:
        """Let go of the file."""
        with self._lock:
            self._con.close()

    def key(self) -> str:
        """Return the key that cookies and forms are signed with, made on first use."""
        with self._lock:
            self._con.execute("begin immediate")
            found = self._con.execute("select key from secret").fetchone()
            key = found[0] if found else secrets.token_hex(32)
            if not found:
                self._con.execute("insert into secret values (?)", (key,))
            self._con.execute("commit")
        return str(key)

    def none_yet(self) -> bool:
        """Tell whether no account was made yet."""
        return not self._ask("select 1 from accounts limit 1")

    def names(self) -> dict[str, Account]:
        """Return every account by its name in small letters."""
        found = self._ask("select name, locked, turn from accounts order by name")
        return {
            str(name).casefold(): Account(name=str(name), locked=bool(locked), turn=int(str(turn)))
            for name, locked, turn in found
        }

    def set_password(self, name: str, password: str) -> None:
        """Make an account or give it a new password; every session of it ends."""
        refuse_weak(name, password)
        self._ask(
            "insert into accounts (name, hash) values (?, ?) "
            "on conflict (name) do update set hash = excluded.hash, turn = turn + 1",
            name.strip(),
            self._hasher.hash(password),
        )

    def lock(self, name: str, *, locked: bool) -> None:
        """Lock an account, which ends its sessions, or open it again."""
        done = self._ask(
            "update accounts set locked = ?, turn = turn + 1 where name = ? returning name",
            int(locked),
            name.strip(),
        )
        if not done:
            raise AccountError(f"There is no account of {name}. See: weighbook people list BOOK")

    def sign_in(self, name: str, password: str, address: str) -> Account:
        """Return the account whose password this is; AccountError tells not which of both is wrong.

        After some failed tries nobody gets in under that name or from that address for a while.
        """
        who = f"name {name.strip().casefold()[:80]}"
        self._refuse_tired(who, f"from {address}")
        found = self._ask("select hash, locked from accounts where name = ?", name.strip())
        stored = str(found[0][0]) if found else self._nobody
        try:
            right = self._hasher.verify(stored, password[:MOST_LETTERS]) and bool(found)
        except (Argon2Error, InvalidHashError):
            right = False
        account = self.names().get(name.strip().casefold())
        if not right or account is None or account.locked:
            self._failed(who, f"from {address}")
            raise AccountError("That name and password do not go together, or the account is shut.")
        return account

    def member_code(self, member_no: str, *, by: str, at: str, proxy: str = "") -> str:
        """Make a code for a member, or for somebody who acts for the member; it is shown once.

        It takes the place of an earlier one of the same person.
        """
        code = "".join(secrets.choice(LETTERS) for _ in range(CODE_LETTERS))
        self._ask("delete from codes where member_no = ? and proxy = ?", member_no, proxy)
        self._ask("insert into codes values (?, ?, ?, ?, ?)", _hash(code), member_no, proxy, by, at)
        return "-".join(code[n : n + 4] for n in range(0, CODE_LETTERS, 4))

    def member_of(self, code: str, address: str) -> str:
        """Return whose code this is; AccountError where it is nobody's."""
        self._refuse_tired(f"code from {address}")
        plain = "".join(letter for letter in code.upper() if letter in LETTERS)
        found = self._ask("select member_no from codes where hash = ?", _hash(plain))
        if not found:
            self._failed(f"code from {address}")
            raise AccountError("No statement opens with that code. Look at the paper again.")
        return str(found[0][0])

    def coded(self) -> set[str]:
        """Return the members who have a code."""
        return {str(number) for (number,) in self._ask("select member_no from codes")}

    def end_code(self, member_no: str) -> None:
        """Take a member's codes away, a proxy's too: their links open nothing from now on."""
        self._ask("delete from codes where member_no = ?", member_no)

    def new_token(self, name: str, may: str, *, at: str) -> str:
        """Make a program's token, shown once; one of the same name ends."""
        if may not in ("send", "read") or not name.strip():
            raise AccountError('A token has a name, and may "send" sheets or "read" totals.')
        token = secrets.token_urlsafe(24)
        self._ask("delete from tokens where name = ?", name.strip())
        self._ask("insert into tokens values (?, ?, ?, ?)", _hash(token), name.strip(), may, at)
        return token

    def end_token(self, name: str) -> None:
        """Take a program's token away."""
        if not self._ask("delete from tokens where name = ? returning name", name):
            raise AccountError(f"There is no token called {name}.")

    def token(self, token: str) -> Token | None:
        """Return whose token this is, or None."""
        found = self._ask("select name, may from tokens where hash = ?", _hash(token))
        return Token(name=str(found[0][0]), may=str(found[0][1])) if found else None

    def _refuse_tired(self, *whose: str) -> None:
        since = self._clock() - WITHIN_S
        self._ask("delete from tries where at < ?", since)
        for who in whose:
            (count,) = self._ask("select count(*) from tries where who = ?", who)[0]
            if int(str(count)) >= (TRIES if who.startswith("name") else TRIES_FROM):
                raise AccountError("Too many tries. Wait a quarter of an hour, then try again.")

    def _failed(self, *whose: str) -> None:
        for who in whose:
            self._ask("insert into tries values (?, ?)", who, self._clock())


def _hash(text: str) -> str:
    # Codes and tokens are drawn at random and long: a slow hash would add nothing.
    return hashlib.sha256(text.encode()).hexdigest()


def refuse_weak(name: str, password: str) -> None:
    """Refuse a password that is too short, too long or one's own name: AccountError."""
    if not LEAST_LETTERS <= len(password) <= MOST_LETTERS:
        raise AccountError(
            f"A password has {LEAST_LETTERS} letters or more, such as four words that do not "
            "belong together."
        )
    if password.casefold() in (name.casefold(), name.casefold().replace(" ", "")):
        raise AccountError("A password is not one's own name.")
