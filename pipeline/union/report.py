"""The union's report: DuckDB over the summaries of all books."""

import json
import tempfile
from pathlib import Path
from typing import Any

import duckdb

from pipeline.errors import ServiceError
from pipeline.season.tables import dicts, refuse_wrong_sums
from pipeline.storage import is_address, opened, trouble
from pipeline.union.summary import Summarised, put, union_sql


def books_in(where: str) -> list[str]:
    """Return the folders or addresses of all books below a folder or bucket, in their order.

    ServiceError where storage is out of reach.
    """
    local = not is_address(where)
    try:
        fs, root = opened(str(Path(where).absolute()) if local else where)
        if not fs.exists(root):
            return []
        scheme = "" if local else where.partition("://")[0] + "://"
        paths = [str(path).rstrip("/") for path in fs.ls(root, detail=False)]
        return sorted(f"{scheme}{path}" for path in paths if fs.exists(f"{path}/journal.jsonl"))
    except Exception as error:
        # Each kind of storage has errors of its own.
        raise ServiceError(trouble(where, "read", error)) from None


def write_report(out: str, done: list[Summarised]) -> dict[str, Any]:
    """Add the summaries of the books up, and write report.json whole below a folder or address."""
    names = [one.book for one in done if not one.trouble]
    report: dict[str, Any] = {
        "books": len(names),
        "not_read": {one.book: one.trouble for one in done if one.trouble},
        "seasons": [],
        "by_book": [],
    }
    with tempfile.TemporaryDirectory(prefix="weighbook-union-") as folder:
        files = _seasons(out, names, Path(folder))
        if files:
            with duckdb.connect() as con:
                refuse_wrong_sums(con)
                report["seasons"] = dicts(con, union_sql("report_seasons"), {"files": files})
                report["by_book"] = dicts(con, union_sql("report_books"), {"files": files})
    text = json.dumps(report, indent=1, ensure_ascii=False, default=str) + "\n"
    put(f"{out}/report.json", text.encode())
    return report


def _seasons(out: str, names: list[str], beside: Path) -> list[str]:
    """Return the files of summaries; those in storage are copied first: they are small."""
    if not is_address(out):
        files = [Path(out, "seasons", f"{name}.parquet") for name in names]
        return [str(file) for file in files if file.exists()]
    fs, root = opened(out)
    found: list[str] = []
    for name in names:
        file = beside / f"{name}.parquet"
        if fs.exists(f"{root}/seasons/{name}.parquet"):
            file.write_bytes(fs.cat_file(f"{root}/seasons/{name}.parquet"))
            found.append(str(file))
    return found
