"""Runs all of a book's service: the desk with the inbox, Prefect's server, and the schedules."""

import os
import signal
import socket
import threading
import time
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Callable, Generator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

from pipeline.book.book import Book, now
from pipeline.errors import ServiceError
from pipeline.service.chores import begin
from pipeline.service.config import ServiceSettings
from pipeline.service.measure import age_s
from pipeline.service.notes import folder, write_note
from pipeline.service.supervise import READY, Supervisor, Task

DESK, PREFECT, SCHEDULES = "desk", "prefect", "schedules"
LOOPBACK = "127.0.0.1"
# The schedules say that they are there by touching a file; older than this, they are not.
ALIVE_S = 90.0
# Prefect's two processes hold 235 and 85 MiB, and no more after some hundred runs.
MOST_MIB = 500.0
# Threads of Prefect's server come and go with requests: with a heap each, and what was let go of
# kept, glibc held 50 kB more after every run, none of it in use. Elsewhere nobody reads these.
ONE_HEAP = {"MALLOC_ARENA_MAX": "1", "MALLOC_TRIM_THRESHOLD_": "131072"}
# Each connection of Prefect's server keeps so many statements prepared; of the library's 128, tens
# of kilobytes each, more were held after every run.
STATEMENTS = 16


def prefect_env(book: Book, port: int) -> dict[str, str]:
    """Return what Prefect must know: its home in the book, its address, and to report nothing."""
    home = (folder(book) / "prefect").absolute()
    return {
        "PREFECT_HOME": str(home),
        "PREFECT_SERVER_DATABASE_CONNECTION_URL": _database(home / "prefect.db"),
        "PREFECT_API_URL": f"http://{LOOPBACK}:{port}/api",
        "PREFECT_SERVER_UI_API_URL": f"http://{LOOPBACK}:{port}/api",
        "PREFECT_SERVER_ANALYTICS_ENABLED": "false",
        "PREFECT_CLOUD_ENABLE_ORCHESTRATION_TELEMETRY": "false",
        "PREFECT_SERVER_SERVICES_DB_VACUUM_ENABLED": "events,flow_runs",
        "PREFECT_SERVER_SERVICES_DB_VACUUM_RETENTION_PERIOD": "P400D",
        "PREFECT_SERVER_EVENTS_RETENTION_PERIOD": "P7D",
        # Nothing here starts a flow by an event, pauses one, pools workers or leases places.
        "PREFECT_SERVER_SERVICES_TRIGGERS_ENABLED": "false",
        "PREFECT_SERVER_SERVICES_PAUSE_EXPIRATIONS_ENABLED": "false",
        "PREFECT_SERVER_SERVICES_FOREMAN_ENABLED": "false",
        "PREFECT_SERVER_SERVICES_REPOSSESSOR_ENABLED": "false",
        "PREFECT_SERVER_SERVICES_CLEANUP_RECONCILER_ENABLED": "false",
        # Looked at every minute, not every few seconds: chores have an hour or a day.
        "PREFECT_SERVER_SERVICES_LATE_RUNS_LOOP_SECONDS": "60",
        "PREFECT_SERVER_SERVICES_CANCELLATION_CLEANUP_LOOP_SECONDS": "60",
        "PREFECT_SERVER_SERVICES_SCHEDULER_RECENT_DEPLOYMENTS_LOOP_SECONDS": "60",
        "PREFECT_LOGGING_COLORS": "false",
        "DO_NOT_TRACK": "1",
        "GX_ANALYTICS_ENABLED": "false",
    }


def _database(path: Path) -> str:
    """Return the address of Prefect's records, as SQLAlchemy reads it."""
    name = urllib.parse.quote(path.as_posix(), safe="/: ")
    return f"sqlite+aiosqlite:///{name}?cached_statements={STATEMENTS}"


def tasks(book: Book, service: ServiceSettings) -> list[Task]:
    """Return the processes of a book's service."""
    desk, prefect = service.desk_port, service.prefect_port
    alive = folder(book) / "schedules.alive"
    env = prefect_env(book, prefect)
    path = str(book.path.absolute())
    host = LOOPBACK if service.desk_host in ("0.0.0.0", "::") else service.desk_host
    return [
        Task(
            name=DESK,
            command=("pipeline.service.office", path, service.desk_host, str(desk)),
            healthy=lambda: answers(f"http://{host}:{desk}/static/mark.svg"),
            # A book that has to be worked out anew opens late.
            patience_s=900,
        ),
        Task(
            name=PREFECT,
            command=("pipeline.flows.server", str(prefect)),
            healthy=lambda: answers(f"http://{LOOPBACK}:{prefect}/api/health"),
            env=env | ONE_HEAP,
            # What people wait for starts first.
            before=(DESK,),
            most_mib=MOST_MIB,
        ),
        Task(
            name=SCHEDULES,
            command=("pipeline.flows.runner", path),
            healthy=lambda: alive.exists() and time.time() - alive.stat().st_mtime < ALIVE_S,
            env=env | {"WEIGHBOOK_ALIVE": str(alive)},
            # It loads while Prefect's server comes up, and then waits for it by itself.
            before=(DESK,),
            patience_s=300,
            most_mib=MOST_MIB,
        ),
    ]


def answers(url: str) -> bool:
    """Tell whether an address answers, whatever it says."""
    try:
        with urllib.request.urlopen(url, timeout=3):
            return True
    except urllib.error.HTTPError as error:
        return error.code < 500
    except OSError:
        return False


def up(book: Book, service: ServiceSettings, say: Callable[[str], None]) -> None:
    """Run the service of a book until the process is asked to end.

    ServiceError where a port is in use, the service runs already, or the folder cannot be written.
    """
    with _only_one(book):
        for what, host, port in (
            ("desk", service.desk_host, service.desk_port),
            ("prefect", LOOPBACK, service.prefect_port),
        ):
            _refuse_used(what, host, port)
        begin(book, now())
        # What the last service left says nothing of this one: its processes are gone.
        for left in ("schedules.alive", "up.json"):
            (folder(book) / left).unlink(missing_ok=True)
        said: set[str] = set()

        def changed(running: Supervisor) -> None:
            _note(book, service, running)
            for name, child in running.children.items():
                if child.state == READY and name not in said:
                    said.add(name)
                    say(f"{_said(name, service)} ({child.ready_after:.1f} s)")
                elif child.last_end and f"{name}{child.restarts}" not in said:
                    said.add(f"{name}{child.restarts}")
                    say(
                        f"{name} {child.last_end}; it is started again. "
                        f"What it said: {folder(book) / 'logs' / name}.log"
                    )

        running = Supervisor(tasks(book, service), folder(book) / "logs", changed, age_s())
        _end_on_signals(running)
        running.run()


def _said(name: str, service: ServiceSettings) -> str:
    return {
        DESK: f"The desk is at http://{service.desk_host}:{service.desk_port}, "
        "and the inbox is watched.",
        PREFECT: f"Prefect's pages are at http://{LOOPBACK}:{service.prefect_port}.",
        SCHEDULES: "The schedules run.",
    }[name]


def _note(book: Book, service: ServiceSettings, running: Supervisor) -> None:
    write_note(
        book,
        "up",
        {
            "pid": os.getpid(),
            "at": now(),
            "desk": f"http://{service.desk_host}:{service.desk_port}",
            "prefect": f"http://{LOOPBACK}:{service.prefect_port}",
            "children": {
                name: {
                    "state": child.state,
                    "pid": child.pid,
                    "ready_after_s": round(child.ready_after, 1),
                    "restarts": child.restarts,
                    "last_end": child.last_end,
                }
                for name, child in running.children.items()
            },
        },
    )


@contextmanager
def _only_one(book: Book) -> Generator[None]:
    try:
        with FileLock(folder(book) / ".lock", timeout=0):
            yield
    except Timeout:
        raise ServiceError(
            f"The service of {book.path} runs already. See: weighbook status {book.path}"
        ) from None
    except PermissionError:
        raise ServiceError(
            f"{book.path} cannot be written to. Start the service as the user who owns it."
        ) from None


def runs(book: Book) -> bool:
    """Tell whether a book's service runs on this machine."""
    path = book.path / "service" / ".lock"
    if not path.exists():
        return False
    try:
        with FileLock(path, timeout=0):
            return False
    except (Timeout, OSError):
        return True


def _refuse_used(what: str, host: str, port: int) -> None:
    with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET) as one:
        # As servers do: a port that was let go a moment ago may be taken again.
        if os.name == "posix":
            one.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            one.bind((host, port))
        except OSError as error:
            raise ServiceError(
                f"Port {port} on {host} cannot be used for {what}: {error.strerror}. End what uses "
                f"it, or name another: {what}_port in service.toml, or --{what}-port."
            ) from None


def _end_on_signals(running: Supervisor) -> None:
    if threading.current_thread() is threading.main_thread():

        def end(*_: object) -> None:
            running.stop()

        for name in ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK"):
            if hasattr(signal, name):
                signal.signal(getattr(signal, name), end)


def unit(book: Book, command: Path) -> str:
    """Return a unit file with which systemd starts the service of a book with the machine."""
    from importlib import resources

    text = resources.files("pipeline.service").joinpath("weighbook.service").read_text("utf-8")
    book_path = str(book.path.absolute())
    return (
        text.replace("@COMMAND@", str(command))
        .replace("@BOOK@", book_path)
        .replace("@USER@", book.path.owner() if os.name == "posix" else "")
    )
